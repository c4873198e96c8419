//! Leaving the vehicle: at every ending and every pause, what was left changed is put back line by line, and what is not is
//! written down.

use crate::model::event::{Entry, Event};
use crate::model::meter::Function;
use crate::model::prompt::{Answer, Leads, Question};
use crate::model::record::Record;
use crate::model::vehicle::method::Method;
use crate::model::vehicle::{Action, Battery, Engine, Key, Lift, VehicleState, Wheels};
use crate::run::at_vehicle::phase::Phase;
use crate::run::at_vehicle::undo::{Done, Undo};
use crate::run::events;
use crate::run::notice::Notice;
use crate::run::reply::Form;
use crate::run::request::Request;
use crate::run::session::{Session, sentence};
use crate::run::stop::Stop;

impl Session {
    /// Something done in the author's words stays done until this is done, in the author's words, too.
    pub fn undone_by(&mut self, text: &str, methods: Option<Vec<Method>>) {
        self.undos.retain(|undo| undo.text != text);
        self.undos.push(Undo { text: text.to_owned(), methods, does: self.carried_out.clone(), is_undone: false });
    }

    /// Offers the way back, and writes down what stays open. An older record had none.
    pub(in crate::run) fn leave(&mut self) -> Result<(), Stop> {
        if !self.behavior.leaves_in_order() || self.leaving {
            return Ok(());
        }
        let vehicle = match self.phase {
            Phase::Live => self.vehicle.clone(),
            Phase::ReadsBack(_) | Phase::LooksFirst(_) => {
                Record::of(&self.entries).map_or_else(|_| self.vehicle.clone(), |record| record.vehicle)
            }
        };
        let way = self.way_home(&vehicle);
        if way.is_empty() {
            return Ok(());
        }
        self.vehicle = vehicle;
        let text = format!("Left changed: {}.", left_words(&way, &self.vehicle));
        self.answerer.notice(Notice::Remark { text: &text });
        // Before the first line of it: wherever the run is broken off, what is still open can be told.
        self.record(Event::LeftChanged { open: way.clone() })?;
        self.leaving = true;
        let left = self.go_home(way);
        self.leaving = false;
        left
    }

    fn go_home(&mut self, way: Vec<Action>) -> Result<(), Stop> {
        let mut is_open = false;
        for action in way {
            // The battery comes last, and not on top of something that was left as it is.
            if is_open && matches!(action, Action::MoveBatteryCable { .. }) {
                return Ok(());
            }
            match self.put_back(&action) {
                Ok(Line::Done) => {}
                Ok(Line::Open) => is_open = true,
                Ok(Line::NobodyGoesOn) | Err(Stop::LeftOpen) => return Ok(()),
                Err(stop) => return Err(stop),
            }
        }
        Ok(())
    }

    /// One line of the way back, with its cautions.
    fn put_back(&mut self, action: &Action) -> Result<Line, Stop> {
        if self.answers_only_what_is_written() {
            return Ok(Line::NobodyGoesOn);
        }
        let after = self.vehicle.after(action, Some(self.clock.minute()));
        self.caution_before_action(action, &after, None)?;
        let from = loop {
            let (form, from) = self.put(Request::PutBack { action }).parts();
            match form {
                Form::Text(_) => break from,
                Form::Skip { .. } => return Ok(Line::Open),
                Form::Note(text) => self.note(sentence(action), text, &from)?,
                _ => return Ok(Line::NobodyGoesOn),
            }
        };
        let done = self.clock.now();
        self.vehicle = self.vehicle.after(action, Some(done.minute()));
        self.was_carried_out(action, true);
        self.append(Entry { at: done, reply: from.id, event: events::acted(action.clone(), true, None, &from) })
            .map(|()| Line::Done)
    }

    /// Something was done in the author's words: it may undo what was done before. On a way back it is undone only until the
    /// run goes on.
    pub(in crate::run) fn was_carried_out(&mut self, action: &Action, back: bool) {
        let Action::CarryOut { text, methods } = action else { return };
        if !back {
            self.undos.retain(|undo| undo.text != *text);
            self.carried_out = Done { text: text.clone(), methods: methods.clone() };
            return;
        }
        for undo in &mut self.undos {
            if undo.text == *text {
                undo.is_undone = true;
            } else if undo.does.text == *text {
                undo.is_undone = false;
            }
        }
    }

    /// What was undone on a way back, and has to be done again before anything goes on.
    pub(in crate::run) fn done_again(&self) -> Vec<Action> {
        let undone = self.undos.iter().filter(|undo| undo.is_undone && !undo.does.text.is_empty());
        let mut again: Vec<Action> = Vec::new();
        for action in undone.map(Undo::done_again) {
            // One thing may have more than one that undoes it.
            if !again.contains(&action) {
                again.push(action);
            }
        }
        again
    }

    /// What brings the vehicle back to how it was found, in an order that is safe: load off, engine stopped, key off; leads
    /// off; ammeter and jumpers out; connectors and parts in; what the author said undoes the author's own; battery cable;
    /// chocks last.
    fn way_home(&self, now: &VehicleState) -> Vec<Action> {
        let Some(Event::Started(started)) = self.entries.first().map(|entry| &entry.event) else { return Vec::new() };
        let mut now = now.clone();
        if let Some(points) = &self.points {
            // A switch that stands as the circuit has it without anybody's hand is not left changed.
            let found = &started.vehicle.positions;
            now.positions.retain(|part, position| found.contains_key(part) || points.rests.get(part) != Some(position));
        }
        let mut way = way_home(&started.vehicle, &now);
        way.after_leads(self.undos.iter().filter(|undo| !undo.is_undone), leads_on(&self.entries));
        way.in_order()
    }
}

enum Line {
    Done,
    Open,
    NobodyGoesOn,
}

/// A way back, in the parts that make its order.
#[derive(Default)]
struct Way {
    powered: Vec<Action>,
    leads: Option<Action>,
    ammeter: Vec<Action>,
    jumpers: Vec<Action>,
    together: Vec<Action>,
    undone: Vec<Action>,
    lift: Option<Action>,
    battery: Option<Action>,
    chocks: Option<Action>,
}

impl Way {
    fn after_leads<'a>(&mut self, undos: impl DoubleEndedIterator<Item = &'a Undo>, leads: Option<bool>) {
        let (ammeter, undone): (Vec<&Undo>, Vec<&Undo>) = undos.rev().partition(|undo| undo.opens_the_line());
        let actions = |undos: Vec<&Undo>| undos.into_iter().map(Undo::action).collect();
        (self.ammeter, self.undone) = (actions(ammeter), actions(undone));
        let moves = [&self.powered, &self.jumpers, &self.together, &self.undone].iter().any(|part| !part.is_empty())
            || self.lift.is_some()
            || self.battery.is_some()
            || self.chocks.is_some();
        // Leads alone change nothing at the vehicle; in the socket for amperes they short what they touch next. Where the author
        // says how the ammeter comes out, its leads come out with it.
        let leads = leads.filter(|socket| (moves || *socket) && self.ammeter.is_empty());
        self.leads = leads.map(|socket| Action::TakeLeadsOff { socket });
    }

    fn in_order(self) -> Vec<Action> {
        let Self { powered, leads, ammeter, jumpers, together, undone, lift, battery, chocks } = self;
        powered
            .into_iter()
            .chain(leads)
            .chain(ammeter)
            .chain(jumpers)
            .chain(together)
            .chain(undone)
            .chain(lift)
            .chain(battery)
            .chain(chocks)
            .collect()
    }
}

fn way_home(found: &VehicleState, now: &VehicleState) -> Way {
    let mut way = Way::default();
    for jumper in
        now.jumpers.iter().filter(|jumper| !found.jumpers.iter().any(|had| had.joins(&jumper.from, &jumper.to)))
    {
        way.jumpers.push(Action::Disconnect { from: jumper.from.clone(), to: jumper.to.clone() });
    }
    for jumper in
        found.jumpers.iter().filter(|jumper| !now.jumpers.iter().any(|has| has.joins(&jumper.from, &jumper.to)))
    {
        way.jumpers.push(Action::Connect { jumper: jumper.clone() });
    }
    for connector in now.unplugged.difference(&found.unplugged) {
        way.together.push(Action::Plug { connector: connector.clone() });
    }
    for part in now.removed.difference(&found.removed) {
        way.together.push(Action::PutBack { part: part.clone() });
    }
    if now.battery == Battery::Disconnected && found.battery != Battery::Disconnected {
        way.battery = Some(Action::MoveBatteryCable { to: Battery::Connected });
    }
    // Chocks that stood before the run stay where they are.
    if now.wheels == Wheels::Chocked && found.wheels == Wheels::Free {
        way.chocks = Some(Action::SecureWheels { to: Wheels::Free });
    }
    for (part, position) in &now.positions {
        match found.positions.get(part) {
            None => way.powered.push(Action::Release { part: part.clone() }),
            Some(had) if had != position => {
                way.powered.push(Action::Hold { part: part.clone(), position: had.clone() });
            }
            Some(_) => {}
        }
    }
    let stops = now.engine == Engine::Running && found.engine != Engine::Running;
    if stops {
        way.powered.push(Action::StopEngine);
    }
    let is_on = matches!(now.key, Key::On | Key::Accessory);
    let is_opened = !(way.jumpers.is_empty() && way.together.is_empty()) || way.battery.is_some();
    if is_on && (found.key != now.key || is_opened) {
        way.powered.push(Action::TurnKey { to: Key::Off });
    }
    if now.lift == Lift::Raised && found.lift == Lift::Down {
        way.lift = Some(Action::MoveLift { to: Lift::Down });
    }
    way
}

/// Whether the meter's leads are on the vehicle, and if so whether the red one is in the socket for amperes. What the next
/// reading needs, it said itself; so the last one tells.
fn leads_on(entries: &[Entry]) -> Option<bool> {
    for entry in entries.iter().rev() {
        match &entry.event {
            Event::Acted { action: Action::TakeLeadsOff { .. }, .. } => return None,
            Event::Answered { prompt, answer, .. } if !matches!(answer, Answer::Skipped { .. }) => {
                let clamp = matches!(prompt.question.leads(), Some(Leads::Clamp { .. }));
                if clamp || prompt.question.leads().is_none() {
                    continue;
                }
                match &prompt.question {
                    Question::Reading { function, .. }
                    | Question::LowestHighest { function, .. }
                    | Question::Sweep { function, .. } => return Some(*function == Function::Amperes),
                    _ => {}
                }
            }
            _ => {}
        }
    }
    None
}

/// What these would put back, as it stands: `key ON, C41 unplugged`.
pub fn left_words(open: &[Action], vehicle: &VehicleState) -> String {
    let words: Vec<String> = open.iter().map(|action| action.left_words(vehicle)).collect();
    words.join(", ")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::ending::Ending;
    use crate::run::fakes::{Fake, requests, session};

    #[test]
    fn the_way_back_goes_in_a_safe_order() {
        let found =
            VehicleState { key: Key::Off, engine: Engine::Stopped, wheels: Wheels::Free, ..VehicleState::default() };
        let jumper = crate::model::vehicle::Jumper { from: "a".into(), to: "b".into(), through: None };
        let done = [
            Action::MoveBatteryCable { to: Battery::Disconnected },
            Action::Unplug { connector: "C41".into() },
            Action::TakeOut { part: "F2".into() },
            Action::Connect { jumper },
            Action::TurnKey { to: Key::On },
            Action::Hold { part: "work_lamp".into(), position: "on".into() },
            Action::SecureWheels { to: Wheels::Chocked },
        ];
        let now = done.iter().fold(found.clone(), |vehicle, action| vehicle.after(action, None));
        let mut way = way_home(&found, &now);
        let fuel = Undo { text: "Fuel back on".to_owned(), methods: None, does: Done::default(), is_undone: false };
        way.after_leads([&fuel].into_iter(), Some(true));
        let way = way.in_order();
        let words: Vec<String> = way.iter().map(ToString::to_string).collect();
        assert_eq!(
            words,
            [
                "Let go of work_lamp, or switch it back",
                "Turn the key off",
                "Take the meter's leads off, and put the red lead back into the V socket",
                "Remove the jumper between a and b",
                "Plug C41 in again",
                "Put F2 back",
                "Fuel back on",
                "Put the negative cable back on the battery",
                "Take the chocks away",
            ]
        );
        assert_eq!(
            left_words(&way, &now),
            "work lamp on, key ON, red lead in the A socket, a joined to b, C41 unplugged, F2 out, not done: Fuel back on, battery cable off, wheels chocked"
        );
    }

    #[test]
    fn the_battery_is_not_put_on_top_of_what_was_left_and_what_nobody_puts_back_stays_open() {
        let skip = Form::Skip { reason: "it is at the bench".into() };
        let plug = Action::Plug { connector: "C41".into() };
        let battery = Action::MoveBatteryCable { to: Battery::Connected };
        for (replies, done, asked) in [
            (vec![skip], vec![], 1),
            (vec![Form::Pause], vec![], 1),
            (vec![Form::enter(), Form::Pause], vec![plug.clone()], 2),
            (vec![Form::enter(), Form::enter()], vec![plug.clone(), battery.clone()], 2),
        ] {
            let (person, heard) = Fake::new([Form::enter(), Form::enter()].into_iter().chain(replies));
            let mut session = session(person);
            session.act(Action::MoveBatteryCable { to: Battery::Disconnected }).unwrap();
            session.act(Action::Unplug { connector: "C41".into() }).unwrap();
            assert!(matches!(session.end(Ending::Unconcluded), Stop::Ended(Ending::Unconcluded)));
            assert_eq!(requests(&heard).iter().filter(|request| *request == "put_back").count(), asked);
            let record = Record::taking(session.take_entries()).unwrap();
            let open: Vec<Action> =
                [plug.clone(), battery.clone()].into_iter().filter(|action| !done.contains(action)).collect();
            assert_eq!(record.left_changed, open);
        }
    }

    #[test]
    fn leads_alone_are_no_change_but_the_socket_for_amperes_is() {
        let found = VehicleState { key: Key::Off, ..VehicleState::default() };
        for (leads, lines) in [(Some(false), 0), (Some(true), 1), (None, 0)] {
            let mut way = way_home(&found, &found);
            way.after_leads([].into_iter(), leads);
            assert_eq!(way.in_order().len(), lines, "{leads:?}");
        }
    }

    #[test]
    fn an_ammeter_comes_out_before_the_bridge_and_chocks_that_were_there_stay() {
        let found = VehicleState { key: Key::Off, wheels: Wheels::Chocked, ..VehicleState::default() };
        let jumper = crate::model::vehicle::Jumper { from: "post".into(), to: "clamp".into(), through: None };
        let now = found.after(&Action::Connect { jumper }, None);
        let mut way = way_home(&found, &now);
        let undo = |text: &str, method| {
            let does = Done { text: format!("not {text}"), methods: Some(vec![method]) };
            Undo { text: text.to_owned(), methods: Some(vec![]), does, is_undone: false }
        };
        let undos = [undo("Ammeter out", Method::Amperes), undo("Boot on", Method::HandlePart)];
        way.after_leads(undos.iter(), Some(true));
        let words: Vec<String> = way.in_order().iter().map(ToString::to_string).collect();
        assert_eq!(words, ["Ammeter out", "Remove the jumper between post and clamp", "Boot on"]);
    }
}
