//! Cautions over every run of a proof, slips and answers included: few to confirm, none lost, nothing hazardous without one.

use super::{procedure, proving, root, with_circuits};
use ohmwright::circuit::bench::Bench;
use ohmwright::circuit::meter::bench_meter;
use ohmwright::circuit::sample::Sample;
use ohmwright::model::answered_by::AnsweredBy;
use ohmwright::model::caution::signal_word::Confirm;
use ohmwright::model::caution::when::Circumstances;
use ohmwright::model::caution::{CautionRules, Rule};
use ohmwright::model::event::{Entry, Event};
use ohmwright::model::points::{Nearby, Points};
use ohmwright::model::prompt::{CautionId, Zone};
use ohmwright::model::stamp::Stamp;
use ohmwright::model::vehicle::method::Method;
use ohmwright::model::vehicle::{Action, Battery, Engine, HighVoltage, Key, Lift, VehicleState, Wheels};
use ohmwright::run::answerer::{Answering, MeterInUse};
use ohmwright::run::bench::BenchAnswerer;
use ohmwright::run::journal::{FixedClock, Memory};
use ohmwright::run::session::{Parts, Session};
use ohmwright::script::execute::{EntryPoint, execute};
use ohmwright::script::prove::proving::Proving;
use ohmwright::script::prove::watch::{Stage, Watch};
use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write as _;
use std::sync::{Arc, Mutex};

/// What is told before what: by rule, the prompts and actions.
type Pairs = BTreeMap<String, BTreeSet<String>>;

fn rules() -> Arc<CautionRules> {
    let text = std::fs::read_to_string(root().join("stdlib/cautions.toml")).unwrap();
    let rules: CautionRules = toml::from_str(&text).unwrap();
    Arc::new(rules.checked().unwrap())
}

/// An action by what it does, whatever its words are.
fn name_of(action: &Action) -> String {
    if let Action::CarryOut { text, .. } = action {
        return format!("carry_out {text}");
    }
    let value = serde_json::to_value(action).unwrap();
    let fields = value.as_object().unwrap();
    let mut name = fields["do"].as_str().unwrap().to_owned();
    for field in ["to", "connector", "part", "position"] {
        if let (Some(value), false) = (fields.get(field), fields.contains_key("from")) {
            write!(name, " {}", value.as_str().unwrap()).unwrap();
        }
    }
    if let (Some(from), Some(to)) = (fields.get("from"), fields.get("to")) {
        write!(name, " {} {}", from.as_str().unwrap(), to.as_str().unwrap()).unwrap();
    }
    name
}

/// Each caution of a run with what came right after it.
fn pairs_of(entries: &[Entry]) -> Vec<(String, String)> {
    let mut pairs = Vec::new();
    let mut told: Vec<String> = Vec::new();
    for entry in entries {
        let before = match &entry.event {
            Event::Cautioned { cautions } | Event::Reminded { cautions } => {
                told.extend(cautions.iter().map(|told| told.id.to_string()));
                continue;
            }
            Event::Acted { action, .. } => name_of(action),
            Event::Answered { prompt, .. } => prompt.id.to_string(),
            Event::Doubted { id, .. } => id.to_string(),
            _ => continue,
        };
        pairs.extend(told.drain(..).map(|rule| (rule, before.clone())));
    }
    pairs
}

/// Looks on for cautions.
struct Looks {
    rules: Arc<CautionRules>,
    points: Points,
    pairs: Mutex<Pairs>,
    /// What was done without a caution whose hazard was there.
    bare: Mutex<BTreeSet<String>>,
}

impl Watch for Looks {
    fn begins(&self, _: Stage, _: u64) {}
    fn ran(&self) {}
    fn rules(&self) -> Arc<CautionRules> {
        Arc::clone(&self.rules)
    }
    fn came(&self, entries: &[Entry]) {
        let bare = bare(&self.rules, &self.points, entries);
        self.bare.lock().unwrap().extend(bare);
        let mut pairs = self.pairs.lock().unwrap();
        for (rule, before) in pairs_of(entries) {
            pairs.entry(rule).or_default().insert(before);
        }
    }
}

/// What the hands do at an entry, and where; `None` where they do nothing.
fn hands(points: &Points, event: &Event) -> Option<(String, Vec<Method>, Nearby)> {
    match event {
        Event::Acted { action, already: false, .. } => {
            let mut nearby = points.near_action(action);
            if matches!(action, Action::MoveBatteryCable { .. }) {
                nearby.zones.push(Zone::new("battery"));
            }
            let mut methods = Method::of_action(action).to_vec();
            if !points.moves_through_a_travel(action) {
                methods.retain(|method| *method != Method::MoveByHand);
            }
            Some((name_of(action), methods, nearby))
        }
        Event::Answered { prompt, .. } => {
            let methods = Method::of_question(&prompt.question).to_vec();
            Some((prompt.id.to_string(), methods, points.near_leads(prompt.question.leads())))
        }
        _ => None,
    }
}

/// What a run did without a caution whose hazard was there, by the rules' own conditions and with nothing of what decides when
/// one is told: whatever is true must have been told since it was false last. Whether something is fed is left out.
fn bare(rules: &CautionRules, points: &Points, entries: &[Entry]) -> Vec<String> {
    let Some(Event::Started(started)) = entries.first().map(|entry| &entry.event) else { return vec![] };
    let mut vehicle = started.vehicle.clone();
    let (mut near, mut told, mut bare) = (Vec::new(), BTreeSet::new(), Vec::new());
    for (index, entry) in entries.iter().enumerate() {
        match &entry.event {
            Event::StepBegan { near: zones, .. } => near.clone_from(zones),
            Event::Cautioned { cautions } | Event::Reminded { cautions } => {
                told.extend(cautions.iter().map(|told| told.id.clone()));
            }
            _ => {}
        }
        let Some((what, methods, mut nearby)) = hands(points, &entry.event) else { continue };
        // The leads of the reading for which something is held or cranked are on already.
        if let Event::Acted { action, .. } = &entry.event
            && action.is_for_a_reading()
            && let Some(Event::Answered { prompt, .. }) = entries[index + 1..]
                .iter()
                .map(|entry| &entry.event)
                .find(|event| event.is_of_the_script() && !matches!(event, Event::SweepRead { .. }))
        {
            let leads = points.near_leads(prompt.question.leads());
            nearby.zones.extend(leads.zones);
            nearby.unstated |= leads.unstated;
        }
        let after = match &entry.event {
            Event::Acted { action, .. } => vehicle.after(action, Some(entry.at.minute())),
            _ => vehicle.clone(),
        };
        let mut zones = near.clone();
        zones.extend(nearby.zones);
        for rule in rules.rules.iter().filter(|rule| !rule.when.fed) {
            let with = |vehicle, method| {
                let minute = entry.at.minute();
                rule.when.holds(Circumstances {
                    zones: &zones,
                    anywhere: nearby.unstated,
                    vehicle,
                    method,
                    minute,
                    fed: None,
                })
            };
            let holds = match methods.as_slice() {
                [] => with(&after, None),
                methods => methods.iter().any(|method| with(&after, Some(*method)) || with(&vehicle, Some(*method))),
            };
            if holds && !told.contains(&rule.id) {
                bare.push(format!("{what} without {}", rule.id));
            }
            // A rule about what hands do is true only while they do it; it is told once in its place.
            if !holds && rule.when.methods.is_empty() {
                told.remove(&rule.id);
            }
        }
        vehicle = after;
    }
    bare
}

/// Every run of the proof of a shipped procedure.
fn look_at(name: &str, circuit: &str) -> Looks {
    let mut proving = proving(procedure(name), circuit, 3);
    proving.slips = true;
    proving.pairs = true;
    let points = proving.circuit.names();
    let looks = Looks { rules: rules(), points, pairs: Mutex::default(), bare: Mutex::default() };
    let pool = rayon::ThreadPoolBuilder::new().stack_size(ohmwright::script::engine::STACK).build().unwrap();
    pool.install(|| proving.prove(&looks)).unwrap_or_else(|problem| panic!("{problem}"));
    looks
}

/// The healthy vehicle as somebody states it who looked: cold, on its wheels, no high voltage.
fn as_stated(start: &VehicleState) -> VehicleState {
    let mut vehicle = start.clone();
    let known = |unknown: bool| unknown;
    if known(vehicle.key == Key::Unknown) {
        vehicle.key = Key::Off;
    }
    if known(vehicle.engine == Engine::Unknown) {
        (vehicle.engine, vehicle.engine_stopped_at) = (Engine::Stopped, Some(0));
    }
    vehicle.engine_stopped_at.get_or_insert(0);
    if known(vehicle.lift == Lift::Unknown) {
        vehicle.lift = Lift::Down;
    }
    if known(vehicle.wheels == Wheels::Unknown) {
        vehicle.wheels = Wheels::Free;
    }
    if known(vehicle.battery == Battery::Unknown) {
        vehicle.battery = Battery::Connected;
    }
    vehicle.high_voltage = HighVoltage::Absent;
    vehicle
}

/// The run on a healthy vehicle, with its cautions.
fn healthy(proving: &Proving) -> Vec<Entry> {
    let bench = Bench::with(Arc::clone(&proving.circuit), vec![], Sample::of_seed(1), bench_meter()).unwrap();
    let parts = Parts {
        journal: Box::new(Memory::default()),
        answerer: Box::new(BenchAnswerer::alone(bench)),
        answering: Answering::unattended(AnsweredBy::Bench),
        clock: Box::new(FixedClock::at(Stamp::new("2026-01-05T08:00:00Z"))),
        rules: rules(),
        meter: Arc::new(MeterInUse::of_bench(bench_meter())),
        causes: Arc::clone(&proving.procedure.causes),
        past: None,
    };
    let mut started = proving.procedure.started(AnsweredBy::Bench);
    started.nominal = proving.circuit.nominal().map(ohmwright::model::job::Nominal::quantity);
    started.vehicle = as_stated(proving.circuit.start());
    let session = Session::start(parts, started).unwrap();
    let names = Arc::new(proving.circuit.names());
    execute(&proving.procedure, EntryPoint::Body, session, Some(names)).entries
}

/// Confirmations on a healthy path that are not asked each time.
const MOST_CONFIRMATIONS: usize = 4;

#[test]
fn a_healthy_path_asks_for_few_confirmations() {
    let rules = rules();
    let rule = |id: &CautionId| -> Rule { rules.get(id).unwrap().clone() };
    let (mut lines, mut too_many) = (String::new(), Vec::new());
    for (name, circuit) in with_circuits() {
        let entries = healthy(&proving(procedure(&name), &circuit, 1));
        let told = |which: fn(&Event) -> Option<&Vec<ohmwright::model::event::Told>>| -> Vec<Rule> {
            entries.iter().filter_map(|entry| which(&entry.event)).flatten().map(|told| rule(&told.id)).collect()
        };
        let whole = told(|event| match event {
            Event::Cautioned { cautions } => Some(cautions),
            _ => None,
        });
        let reminders = told(|event| match event {
            Event::Reminded { cautions } => Some(cautions),
            _ => None,
        });
        let confirmed: Vec<_> = whole.iter().filter(|rule| rule.needs_confirming()).collect();
        let of_goal: Vec<_> = confirmed.iter().filter(|rule| rule.confirm != Confirm::EachTime).collect();
        let ids: Vec<_> = of_goal.iter().map(|rule| rule.id.as_str()).collect();
        writeln!(
            lines,
            "{name}: {} confirmations ({}), {} each time, {} told, {} reminders",
            of_goal.len(),
            ids.join(", "),
            confirmed.len() - of_goal.len(),
            whole.len() - confirmed.len(),
            reminders.len()
        )
        .unwrap();
        if of_goal.len() > MOST_CONFIRMATIONS {
            too_many.push(name);
        }
    }
    #[expect(clippy::disallowed_macros, reason = "the figures are to be read")]
    {
        println!("{lines}");
    }
    assert!(too_many.is_empty(), "more than {MOST_CONFIRMATIONS}: {too_many:?}\n{lines}");
    assert!(lines.lines().count() >= 16);
}

/// Pairs of a procedure, a prompt or action and a caution that were there and are not, each with its reason, held against the
/// rule, the zones of the circuit and the step in which the action stands.
const NO_LONGER: &[(&str, &str, &str, &str)] = &[
    (
        "alternator_load",
        "jumper_fused",
        "disconnect alternator_output stud_lead_free_end",
        "the rule is about putting a jumper in place; taking it away bridges nothing new",
    ),
    (
        "charging",
        "jumper_fused",
        "disconnect alternator_output stud_lead_free_end",
        "the rule is about putting a jumper in place; taking it away bridges nothing new",
    ),
    (
        "data_bus",
        "airbag",
        "turn_key off",
        "the rule counts by zone, and the key is turned off in a step near the battery only; it comes before the first connector near it",
    ),
    (
        "data_bus",
        "belts_and_fan",
        "turn_key off",
        "the rule counts by zone, and the key is turned off in a step near the battery only; it comes before the first connector near it",
    ),
    (
        "data_bus",
        "lost_without_battery",
        "move_battery_cable connected",
        "the rule is about the cable coming off: nothing is lost by putting it on",
    ),
    (
        "flap_sensor",
        "high_voltage_aboard",
        "turn_key on",
        "the rule counts from the first action on, and chocks come before the key now",
    ),
    (
        "intermittent",
        "driveline_can_turn",
        "turn_key on",
        "the rule holds where wheels are free, and they are chocked by an action before the step near the driveline",
    ),
    (
        "key_off_draw",
        "ammeter_goes_in",
        "carry_out Ammeter on its 10 A range, lead in its 10 A socket, between the battery's negative post and its cable clamp, the bridge still in place. From here until it is out: no key, no door, no load, no start",
        "it comes before the same action, whose words name the meter's fuse now",
    ),
    (
        "key_off_draw",
        "jumper_fused",
        "disconnect battery_negative negative_clamp",
        "the rule is about putting a jumper in place; taking it away bridges nothing new",
    ),
    (
        "key_off_draw",
        "lost_without_battery",
        "move_battery_cable connected",
        "the rule is about the cable coming off: nothing is lost by putting it on",
    ),
    (
        "relay_low_side",
        "moved_while_powered",
        "hold fan_command off",
        "a switch or a command that is set through the module has no travel for fingers; that the fan can start says `moves_by_itself`",
    ),
    (
        "relay_low_side",
        "moved_while_powered",
        "hold fan_command on",
        "a switch or a command that is set through the module has no travel for fingers; that the fan can start says `moves_by_itself`",
    ),
    (
        "solenoid_high_side",
        "moved_while_powered",
        "hold boost_command full",
        "a command that is set through the module has no travel for fingers; that the part moves says `moves_by_itself`",
    ),
    (
        "solenoid_high_side",
        "moved_while_powered",
        "hold boost_command half",
        "a command that is set through the module has no travel for fingers; that the part moves says `moves_by_itself`",
    ),
    (
        "solenoid_high_side",
        "moved_while_powered",
        "hold boost_command off",
        "a command that is set through the module has no travel for fingers; that the part moves says `moves_by_itself`",
    ),
    (
        "speed_sensor",
        "driveline_can_turn",
        "secure_wheels chocked",
        "the rule holds where wheels are free, and they are chocked in a step that is near nothing, before anybody is near the driveline",
    ),
    (
        "speed_sensor",
        "driveline_can_turn",
        "secure_wheels free",
        "the rule holds where wheels are free, and they are chocked in a step that is near nothing, before anybody is near the driveline",
    ),
    (
        "speed_sensor",
        "driveline_can_turn",
        "turn_key on",
        "the rule holds where wheels are free, and they are chocked in a step that is near nothing, before anybody is near the driveline",
    ),
    (
        "speed_sensor",
        "driveline_can_turn",
        "upper_module",
        "the rule holds where wheels are free, and they are chocked in a step that is near nothing, before anybody is near the driveline",
    ),
    (
        "speed_sensor",
        "raised_vehicle",
        "secure_wheels chocked",
        "the rule asks for locks that are set and tried, so it comes after the action that sets them, where somebody goes near the lift",
    ),
    (
        "speed_sensor",
        "raised_vehicle",
        "turn_key on",
        "the rule asks for locks that are set and tried, so it comes after the action that sets them, where somebody goes near the lift",
    ),
    (
        "starter_drop",
        "belts_and_fan",
        "secure_wheels chocked",
        "the chocks are set in a step that is near nothing; the rule counts by zone and comes where somebody goes to the starter",
    ),
    (
        "starter_drop",
        "driveline_can_turn",
        "secure_wheels chocked",
        "the chocks are set in a step that is near nothing; the rule counts by zone and comes where somebody goes to the starter",
    ),
    (
        "starter_drop",
        "hot_exhaust",
        "secure_wheels chocked",
        "the chocks are set in a step that is near nothing; the rule counts by zone and comes where somebody goes to the starter",
    ),
    (
        "starter_drop",
        "raised_vehicle",
        "secure_wheels chocked",
        "the rule asks for locks that are set and tried, so it comes after the action that sets them, where somebody goes near the lift",
    ),
];

#[test]
fn no_caution_is_lost_and_nothing_hazardous_is_done_without_one() {
    let before = include_str!("cautions_before.toml");
    let before: BTreeMap<String, Pairs> = toml::from_str(before).unwrap();
    let (mut lost, mut bare) = (BTreeSet::new(), BTreeSet::new());
    for (name, circuit) in with_circuits() {
        let looks = look_at(&name, &circuit);
        bare.extend(looks.bare.into_inner().unwrap().into_iter().map(|what| format!("{name}: {what}")));
        let now = looks.pairs.into_inner().unwrap();
        for (rule, prompts) in before.get(&name).into_iter().flatten() {
            let known = now.get(rule).cloned().unwrap_or_default();
            lost.extend(prompts.difference(&known).map(|prompt| (name.clone(), rule.clone(), prompt.clone())));
        }
    }
    let listed: BTreeSet<_> = NO_LONGER
        .iter()
        .map(|(name, rule, prompt, why)| {
            assert!(!why.is_empty());
            ((*name).to_owned(), (*rule).to_owned(), (*prompt).to_owned())
        })
        .collect();
    let unlisted: Vec<_> = lost.difference(&listed).collect();
    assert!(
        unlisted.is_empty() && bare.is_empty(),
        "lost and not listed:\n{unlisted:#?}\nwithout their caution:\n{bare:#?}"
    );
    let back: Vec<_> = listed.difference(&lost).collect();
    assert!(back.is_empty(), "listed and not lost:\n{back:#?}");
}

#[test]
fn what_shipped_procedures_have_done_in_words_names_its_methods() {
    let mut seen = 0;
    for folder in ["procedures", "stdlib"] {
        for entry in std::fs::read_dir(root().join(folder)).unwrap() {
            let path = entry.unwrap().path();
            if path.extension().is_none_or(|ending| ending != "rhai") {
                continue;
            }
            let text = std::fs::read_to_string(&path).unwrap();
            let count = |what: &str| text.matches(what).count();
            let in_words = count("carry_out(") + count("undone_by(");
            assert_eq!(in_words, count("methods("), "{}", path.display());
            seen += count("carry_out(");
        }
    }
    assert!(seen > 30, "{seen}");
}

#[test]
fn each_place_of_a_shipped_circuit_says_what_lies_near_it() {
    for (name, circuit) in with_circuits() {
        let proving = proving(procedure(&name), &circuit, 1);
        for point in proving.circuit.points() {
            assert!(point.near.is_some(), "{circuit}: the point {} does not say what lies near it", point.id);
        }
        for connector in proving.circuit.connectors() {
            assert!(
                connector.near.is_some(),
                "{circuit}: the connector {} does not say what lies near it",
                connector.id
            );
        }
    }
}
