//! How much a script may do. The engine counts operations, but not those of a function that one of its own functions
//! calls, and not the length of what is copied; here all of it counts, so that a script that runs away is stopped by
//! count, at the same place on every computer.

use rhai::{Array, Dynamic, Engine, EvalAltResult, FnPtr, ImmutableString, Map, Position, Token};
use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};

/// Operations after which a script has run away.
pub const MAX_OPERATIONS: u64 = 5_000_000;
/// So many entries of a list or a map cost an operation where it is read: it may be copied. A list can still be filled up to its
/// greatest length one by one.
const ENTRIES_OF_AN_OPERATION: usize = 16;
/// Operations that are let pass beyond the limit: some have no place to show, and the next variable has one.
const GRACE: u64 = 16;
/// So many bytes of a text.
const BYTES_OF_AN_OPERATION: usize = 16;
/// What it costs to find something in use: the engine waits for it.
const IN_USE: usize = 250_000;
/// How many values functions may hold, with those that the functions that they hold hold.
pub const MOST_HELD: usize = 256;

/// What a script has done so far; functions that do much at once find it in the engine's tag.
#[derive(Clone, Debug, Default)]
pub struct Done(Arc<AtomicU64>);

impl Done {
    /// That of an engine.
    pub fn of(engine: &Engine) -> Self {
        engine.default_tag().read_lock::<Self>().map(|done| done.clone()).unwrap_or_default()
    }

    /// Counts more.
    fn add(&self, more: usize) {
        self.0.store(self.0.load(Ordering::Relaxed) + more as u64, Ordering::Relaxed);
    }

    /// Counts entries of a list that a function makes.
    pub fn add_entries(&self, entries: usize) {
        self.add(entries / ENTRIES_OF_AN_OPERATION);
    }

    /// Counts bytes of a text that a function makes.
    pub fn add_bytes(&self, bytes: usize) {
        self.add(bytes / BYTES_OF_AN_OPERATION);
    }
}

/// Why a script is stopped; no script can catch it.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Halt {
    /// It did too much.
    RanAway,
    /// Its functions hold too many values.
    HoldsTooMuch,
}

impl Halt {
    /// As the error that no script can catch.
    pub fn into_error(self, position: Position) -> Box<EvalAltResult> {
        EvalAltResult::ErrorTerminated(Dynamic::from(self), position).into()
    }
}

/// Counts what every script of this engine does, each from the beginning, and stops those that do too much.
pub fn bound(engine: &mut Engine) {
    let done = Done::default();
    engine.set_default_tag(Dynamic::from(done.clone()));
    let counted = Arc::clone(&done.0);
    engine.on_progress(move |operations| {
        // An engine runs one script at a time, and this is the first operation of one.
        let before = if operations == 1 { 0 } else { counted.load(Ordering::Relaxed) };
        counted.store(before + 1, Ordering::Relaxed);
        (before >= MAX_OPERATIONS + GRACE).then(|| Dynamic::from(Halt::RanAway))
    });
    #[expect(deprecated, reason = "the engine marks it so because it may change, not because it will go")]
    engine.on_var(move |name, _, context| {
        if let Some(value) = context.scope().get(name) {
            match cost(value) {
                Cost::Operations(more) => {
                    if more > 0 {
                        done.add(more);
                    }
                    if done.0.load(Ordering::Relaxed) > MAX_OPERATIONS {
                        return Err(Halt::RanAway.into_error(Position::NONE));
                    }
                }
                Cost::InUse => {
                    done.add(IN_USE);
                    return Err(EvalAltResult::ErrorDataRace(name.to_owned(), Position::NONE).into());
                }
                Cost::HoldsTooMuch => return Err(Halt::HoldsTooMuch.into_error(Position::NONE)),
            }
        }
        Ok(None)
    });
    #[expect(deprecated, reason = "the engine marks it so because it may change, not because it will go")]
    engine.on_parse_token(|token, _, _| match token {
        // The engine's own lets functions hold each other without end.
        Token::Reserved(word) | Token::Identifier(word) if *word == "curry" => {
            Token::Identifier(Box::new(CURRY.into()))
        }
        token => token,
    });
}

/// The name under which `curry` is called, since scripts can't be given another function of that name.
pub const CURRY: &str = "curry_";

/// What reading a variable costs beyond the operation.
enum Cost {
    Operations(usize),
    /// A function goes through it, and nobody else can read it meanwhile.
    InUse,
    HoldsTooMuch,
}

fn cost(value: &Dynamic) -> Cost {
    if value.is_shared() {
        return value.read_lock::<Dynamic>().map_or(Cost::InUse, |inside| cost(&inside));
    }
    Cost::Operations(if let Some(text) = value.read_lock::<ImmutableString>() {
        text.len() / BYTES_OF_AN_OPERATION
    } else if let Some(list) = value.read_lock::<Array>() {
        entries_of_list(&list) / ENTRIES_OF_AN_OPERATION
    } else if let Some(map) = value.read_lock::<Map>() {
        entries_of_map(&map) / ENTRIES_OF_AN_OPERATION
    } else if let Some(function) = value.read_lock::<FnPtr>() {
        match held_by(&function) {
            Some(held) => held / ENTRIES_OF_AN_OPERATION,
            None => return Cost::HoldsTooMuch,
        }
    } else {
        0
    })
}

fn entries_of_list(list: &Array) -> usize {
    list.iter().fold(list.len(), |sum, value| sum + entries_inside(value))
}

fn entries_of_map(map: &Map) -> usize {
    map.values().fold(map.len(), |sum, value| sum + entries_inside(value))
}

/// Entries of all the lists and maps in a value.
pub fn entries_inside(value: &Dynamic) -> usize {
    // Nothing that is shared stands inside of a list or a map.
    if value.is_shared() {
        return 0;
    }
    if let Some(list) = value.read_lock::<Array>() {
        entries_of_list(&list)
    } else if let Some(map) = value.read_lock::<Map>() {
        entries_of_map(&map)
    } else {
        0
    }
}

/// How many values a function holds, with those inside of them; `None` where it is more than may be.
pub fn held_by(function: &FnPtr) -> Option<usize> {
    let mut left = MOST_HELD;
    let mut shared = Vec::new();
    function.iter_curry().try_for_each(|value| take_off(value, &mut left, &mut shared))?;
    Some(MOST_HELD - left)
}

/// Takes a value off what may still be held. What is shared is not copied, so that only functions in it are looked into,
/// each once: a function may hold itself.
fn take_off(value: &Dynamic, left: &mut usize, shared: &mut Vec<usize>) -> Option<()> {
    *left = left.checked_sub(1)?;
    if value.is_shared() {
        if let Some(inside) = value.read_lock::<FnPtr>() {
            let place = std::ptr::from_ref(&*inside).addr();
            if !shared.contains(&place) {
                shared.push(place);
                return inside.iter_curry().try_for_each(|value| take_off(value, left, shared));
            }
        }
        return Some(());
    }
    if let Some(function) = value.read_lock::<FnPtr>() {
        function.iter_curry().try_for_each(|value| take_off(value, left, shared))
    } else if let Some(list) = value.read_lock::<Array>() {
        list.iter().try_for_each(|value| take_off(value, left, shared))
    } else if let Some(map) = value.read_lock::<Map>() {
        map.values().try_for_each(|value| take_off(value, left, shared))
    } else {
        Some(())
    }
}
