//! The state of the vehicle while a procedure runs, and the actions that change it.

use super::quantity::Quantity;
use method::Method;
use serde::{Deserialize, Serialize};
use std::collections::{BTreeMap, BTreeSet};
use std::fmt;
use wait_for::WaitFor;

mod instruction;
mod left_words;
pub mod method;
pub mod wait_for;

/// A word that names no state of the part in question.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("`{text}` is not a state that is known here; it is one of {}", known.join(", "))]
pub struct UnknownState {
    /// The given text.
    pub text: String,
    /// The states that it can have.
    pub known: &'static [&'static str],
}

/// A part of the vehicle whose state is one of a few words. Whatever reads, writes, shows or asks for states goes by
/// [`STATE_PARTS`].
#[derive(Clone, Copy, Debug)]
pub struct StatePart {
    /// Its name in files, in tables and on the command line.
    pub name: &'static str,
    /// Its usual name.
    pub label: &'static str,
    /// Its name where Ohmwright asks for it.
    pub question: &'static str,
    /// The states that can be chosen when a person is asked; the others last no longer than a reading.
    pub choices: &'static [&'static str],
    state: fn(&VehicleState) -> &'static str,
    set: fn(&mut VehicleState, &str) -> Result<(), UnknownState>,
}

impl StatePart {
    /// The part of a name.
    pub fn named(name: &str) -> Option<&'static Self> {
        STATE_PARTS.iter().find(|part| part.name == name)
    }

    /// How it stands.
    pub fn state(&self, vehicle: &VehicleState) -> &'static str {
        (self.state)(vehicle)
    }

    /// Whether anybody has said how it stands.
    pub fn is_known(&self, vehicle: &VehicleState) -> bool {
        self.state(vehicle) != UNKNOWN
    }

    /// Puts it into the state of this word, `unknown` among them.
    pub fn set(&self, vehicle: &mut VehicleState, word: &str) -> Result<(), UnknownState> {
        (self.set)(vehicle, word)
    }
}

/// The word for a state that nobody has said.
pub const UNKNOWN: &str = "unknown";

/// Each line: the field of [`VehicleState`], the type of its state, what people call it, what it is called where it is asked
/// for, and the states to choose from; then its states.
macro_rules! states {
    ($($(#[$about:meta])* $field:ident: $name:ident, $label:literal, $question:literal, [$($choice:ident),+]
        { $($(#[$doc:meta])* $variant:ident = $word:literal),+ $(,)? })+) => {
        /// The parts of the vehicle whose state is asked for.
        pub const STATE_PARTS: [StatePart; [$($label),+].len()] = [$(StatePart {
            name: stringify!($field),
            label: $label,
            question: $question,
            choices: &[$($name::$choice.word()),+],
            state: |vehicle| vehicle.$field.word(),
            set: |vehicle, word| {
                vehicle.$field = word.parse()?;
                Ok(())
            },
        }),+];
        $($(#[$about])*
        #[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Default, PartialOrd, Ord, Serialize, Deserialize)]
        #[serde(rename_all = "snake_case")]
        pub enum $name { $($(#[$doc])* $variant,)+
            /// Nobody has said; counts as hazardous.
            #[default]
            Unknown,
        }
        impl $name {
            /// Every state, as typed and written, the unknown one last.
            pub const WORDS: &[&str] = &[$($word,)+ UNKNOWN];
            const fn word(self) -> &'static str {
                match self { $(Self::$variant => $word,)+ Self::Unknown => UNKNOWN }
            }
        }
        impl fmt::Display for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str(self.word())
            }
        }
        impl std::str::FromStr for $name {
            type Err = UnknownState;
            fn from_str(text: &str) -> Result<Self, UnknownState> {
                match text { $($word => Ok(Self::$variant),)+ UNKNOWN => Ok(Self::Unknown),
                    _ => Err(UnknownState { text: text.to_owned(), known: Self::WORDS }) }
            }
        })+
    };
}

states! {
    /// The ignition key or start button.
    key: Key, "key", "key", [Off, Accessory, On] {
        /// Everything that the key switches is off.
        Off = "off",
        /// Radio position.
        Accessory = "accessory",
        /// On, engine may or may not run.
        On = "on",
    }
    /// The engine.
    engine: Engine, "engine", "engine", [Stopped, Running] {
        /// At rest.
        Stopped = "stopped",
        /// Turned by the starter.
        Cranking = "cranking",
        /// Running.
        Running = "running",
    }
    /// The lift or jack.
    lift: Lift, "vehicle", "vehicle", [Down, Raised] {
        /// The vehicle stands on its wheels.
        Down = "down",
        /// Somebody can be under it.
        Raised = "raised",
    }
    /// What keeps the vehicle from rolling. The caution about a vehicle that moves off speaks of all that `chocked` means.
    wheels: Wheels, "wheels", "wheels (chocked: out of gear and brake on, too)", [Chocked, Free] {
        /// Chocked, out of gear or in park, brake applied.
        Chocked = "chocked",
        /// Nothing holds it.
        Free = "free",
    }
    /// The vehicle's battery.
    battery: Battery, "battery", "battery", [Connected, Disconnected] {
        /// Both cables on.
        Connected = "connected",
        /// Negative cable off (and kept off).
        Disconnected = "disconnected",
    }
    /// Whether the vehicle has a high-voltage system.
    high_voltage: HighVoltage, "high-voltage system", "high-voltage system", [Absent, Present] {
        /// It has none.
        Absent = "absent",
        /// It has one.
        Present = "present",
    }
}

/// A resistance put between two points by hand; `None` is a plain jumper wire.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
pub struct Jumper {
    /// One end.
    pub from: String,
    /// The other end.
    pub to: String,
    /// Through what.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub through: Option<Quantity>,
}

/// The state of the vehicle. Actions and the technician's word change it; nothing guesses it.
#[derive(Clone, PartialEq, Debug, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct VehicleState {
    /// Key.
    #[serde(default)]
    pub key: Key,
    /// Engine.
    #[serde(default)]
    pub engine: Engine,
    /// When the engine was last stopped, as minutes since the epoch of the run's own clock; `None` if nobody knows.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub engine_stopped_at: Option<i64>,
    /// Lift.
    #[serde(default)]
    pub lift: Lift,
    /// Wheels.
    #[serde(default)]
    pub wheels: Wheels,
    /// Battery.
    #[serde(default)]
    pub battery: Battery,
    /// High voltage.
    #[serde(default)]
    pub high_voltage: HighVoltage,
    /// Connectors that are apart.
    #[serde(default, skip_serializing_if = "BTreeSet::is_empty")]
    pub unplugged: BTreeSet<String>,
    /// Fuses, relays and the like that are out of their sockets.
    #[serde(default, skip_serializing_if = "BTreeSet::is_empty")]
    pub removed: BTreeSet<String>,
    /// The parts that are held, turned or switched by hand, with their positions.
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    pub positions: BTreeMap<String, String>,
    /// Jumpers and substitute loads in place.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub jumpers: Vec<Jumper>,
}

/// An action of the technician that changes the vehicle.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
#[serde(tag = "do", rename_all = "snake_case")]
pub enum Action {
    /// Turn the key.
    TurnKey {
        /// To where.
        to: Key,
    },
    /// Start the engine and let it run.
    StartEngine,
    /// Turn the engine with the starter for as long as the reading takes.
    Crank,
    /// Stop the engine or stop cranking.
    StopEngine,
    /// Raise or lower the vehicle.
    MoveLift {
        /// To where.
        to: Lift,
    },
    /// Chock the wheels or take the chocks away.
    SecureWheels {
        /// How.
        to: Wheels,
    },
    /// Take a connector apart.
    Unplug {
        /// Its name.
        connector: String,
    },
    /// Put a connector together.
    Plug {
        /// Its name.
        connector: String,
    },
    /// Take a fuse, relay or the like out of its socket.
    TakeOut {
        /// Its name.
        part: String,
    },
    /// Put it back.
    PutBack {
        /// Its name.
        part: String,
    },
    /// Take the battery's negative cable off, or put it back.
    MoveBatteryCable {
        /// To where.
        to: Battery,
    },
    /// Hold, turn or switch something and leave it there.
    Hold {
        /// What.
        part: String,
        /// Where.
        position: String,
    },
    /// Let go of something that was held.
    Release {
        /// What.
        part: String,
    },
    /// Put a wire, a resistor or a substitute load between two points.
    Connect {
        /// Between what and through what.
        #[serde(flatten)]
        jumper: Jumper,
    },
    /// Take it away.
    Disconnect {
        /// One end.
        from: String,
        /// The other end.
        to: String,
    },
    /// Let time pass.
    Wait {
        /// How long.
        time: Quantity,
        /// The reason, where the script says it.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        because: Option<WaitFor>,
    },
    /// Take the meter's leads off the vehicle. Only a way back has it.
    TakeLeadsOff {
        /// Put the red lead back into the socket for volts, too: amperes were read.
        #[serde(default, skip_serializing_if = "std::ops::Not::not")]
        socket: bool,
    },
    /// Anything else, in the author's words.
    CarryOut {
        /// The words.
        text: String,
        /// The methods that the author names; without them nobody knows.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        methods: Option<Vec<Method>>,
    },
}

impl VehicleState {
    /// Whether the circuit is put together as in another state: plugs, parts, what is held, jumpers. Where the key stands
    /// and what the engine does is not asked.
    pub fn is_wired_as(&self, other: &Self) -> bool {
        let ends = |jumper: &Jumper| {
            let (one, other) = (jumper.from.clone(), jumper.to.clone());
            if one <= other { (one, other) } else { (other, one) }
        };
        let same = |mine: &Jumper, theirs: &Jumper| ends(mine) == ends(theirs) && mine.through == theirs.through;
        self.unplugged == other.unplugged
            && self.removed == other.removed
            && self.positions == other.positions
            && self.jumpers.len() == other.jumpers.len()
            && self.jumpers.iter().all(|mine| other.jumpers.iter().any(|theirs| same(mine, theirs)))
    }

    /// The state after an action. `minute` is the time at which it is done, in minutes since the epoch.
    pub fn after(&self, action: &Action, minute: Option<i64>) -> Self {
        let mut next = self.clone();
        match action {
            Action::TurnKey { to } => {
                next.key = *to;
                if *to != Key::On && self.engine != Engine::Stopped {
                    next.stop_engine(minute);
                }
            }
            Action::StartEngine => (next.key, next.engine) = (Key::On, Engine::Running),
            Action::Crank => (next.key, next.engine) = (Key::On, Engine::Cranking),
            Action::StopEngine => next.stop_engine(minute),
            Action::MoveLift { to } => next.lift = *to,
            Action::SecureWheels { to } => next.wheels = *to,
            Action::Unplug { connector } => _ = next.unplugged.insert(connector.clone()),
            Action::Plug { connector } => _ = next.unplugged.remove(connector),
            Action::TakeOut { part } => _ = next.removed.insert(part.clone()),
            Action::PutBack { part } => _ = next.removed.remove(part),
            Action::MoveBatteryCable { to } => next.battery = *to,
            Action::Hold { part, position } => _ = next.positions.insert(part.clone(), position.clone()),
            Action::Release { part } => _ = next.positions.remove(part),
            Action::Connect { jumper } => {
                next.jumpers.retain(|other| !other.joins(&jumper.from, &jumper.to));
                next.jumpers.push(jumper.clone());
            }
            Action::Disconnect { from, to } => next.jumpers.retain(|jumper| !jumper.joins(from, to)),
            Action::Wait { .. } | Action::TakeLeadsOff { .. } | Action::CarryOut { .. } => {}
        }
        next
    }

    /// Whether a reading taken in one state says something about the other: when the engine was stopped makes no
    /// difference to a circuit.
    pub fn reads_like(&self, other: &Self) -> bool {
        let Self {
            key,
            engine,
            engine_stopped_at: _,
            lift,
            wheels,
            battery,
            high_voltage,
            unplugged,
            removed,
            positions,
            jumpers,
        } = self;
        (key, engine, lift, wheels, battery, high_voltage)
            == (&other.key, &other.engine, &other.lift, &other.wheels, &other.battery, &other.high_voltage)
            && (unplugged, removed, positions, jumpers)
                == (&other.unplugged, &other.removed, &other.positions, &other.jumpers)
    }

    /// The difference that an action will make, as it is now.
    pub fn differs_by(&self, action: &Action) -> String {
        match action {
            Action::Unplug { connector } => format!("{connector} plugged in"),
            Action::TakeOut { part } => format!("{part} in its socket"),
            Action::MoveBatteryCable { to: Battery::Disconnected } => "battery cable on".to_owned(),
            Action::StartEngine | Action::Crank => format!("engine {}", self.engine),
            Action::SecureWheels { .. } => format!("wheels {}", self.wheels),
            Action::Hold { part, .. } if !self.positions.contains_key(part) => {
                format!("{} not held", part.replace('_', " "))
            }
            Action::CarryOut { text, .. } => format!("to do again: {text}"),
            other => other.left_words(self),
        }
    }

    fn stop_engine(&mut self, minute: Option<i64>) {
        // Cranking alone heats no exhaust; a running engine that stops does, and so may one that nobody spoke of.
        match self.engine {
            Engine::Running => self.engine_stopped_at = minute,
            Engine::Unknown => self.engine_stopped_at = None,
            Engine::Cranking | Engine::Stopped => {}
        }
        self.engine = Engine::Stopped;
    }
}

impl Action {
    /// Whether it is done while a reading is taken, so that the leads are put on before it.
    pub const fn is_for_a_reading(&self) -> bool {
        matches!(self, Self::Crank | Self::Hold { .. })
    }

    /// The reason of a wait, if the script gives one.
    pub const fn waits_for(&self) -> Option<WaitFor> {
        match self {
            Self::Wait { because, .. } => *because,
            _ => None,
        }
    }

    /// Whether it brings stored energy back where it had run down.
    pub const fn brings_energy(&self) -> bool {
        matches!(
            self,
            Self::TurnKey { to: Key::On | Key::Accessory | Key::Unknown }
                | Self::StartEngine
                | Self::Crank
                | Self::PutBack { .. }
                | Self::MoveBatteryCable { to: Battery::Connected }
        )
    }

    /// Whether it moves what the other one moves, whichever way.
    pub fn moves_what(&self, other: &Self) -> bool {
        match (self, other) {
            (
                Self::TurnKey { .. } | Self::StartEngine | Self::Crank | Self::StopEngine,
                Self::TurnKey { .. } | Self::StartEngine | Self::Crank | Self::StopEngine,
            )
            | (Self::MoveLift { .. }, Self::MoveLift { .. })
            | (Self::SecureWheels { .. }, Self::SecureWheels { .. })
            | (Self::MoveBatteryCable { .. }, Self::MoveBatteryCable { .. }) => true,
            (
                Self::Unplug { connector: one } | Self::Plug { connector: one },
                Self::Unplug { connector: two } | Self::Plug { connector: two },
            )
            | (
                Self::TakeOut { part: one } | Self::PutBack { part: one },
                Self::TakeOut { part: two } | Self::PutBack { part: two },
            )
            | (
                Self::Hold { part: one, .. } | Self::Release { part: one },
                Self::Hold { part: two, .. } | Self::Release { part: two },
            ) => one == two,
            _ => match (self.ends(), other.ends()) {
                (Some((one, two)), Some((three, four))) => (one, two) == (three, four) || (one, two) == (four, three),
                _ => false,
            },
        }
    }

    /// The points that are connected or parted.
    fn ends(&self) -> Option<(&str, &str)> {
        match self {
            Self::Connect { jumper } => Some((&jumper.from, &jumper.to)),
            Self::Disconnect { from, to } => Some((from, to)),
            _ => None,
        }
    }
}

impl Jumper {
    /// Whether it lies between these two points, either way around.
    pub fn joins(&self, one: &str, other: &str) -> bool {
        (self.from == one && self.to == other) || (self.from == other && self.to == one)
    }
}
