//! Circuits: shipped ones, worked examples from public sources, laws of networks, errors, and ngspice as an outside check.
#![expect(clippy::unwrap_used, reason = "helpers of tests")]
mod ac;
mod errors;
mod family;
mod laws;
mod memory;
mod meter;
mod parts;
mod random_decks;
mod settling;
mod shipped;
mod spice;
mod time;
mod words;
mod worked;

use ohmwright::circuit::fault::FaultId;
use ohmwright::circuit::file;
use ohmwright::circuit::netlist::Circuit;
use ohmwright::model::vehicle::{Battery, Engine, Jumper, Key, VehicleState};

/// Every circuit that is shipped, with its file name.
fn shipped_circuits() -> Vec<(String, Circuit)> {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/procedures/circuits");
    let mut circuits: Vec<_> = walkdir::WalkDir::new(folder)
        .into_iter()
        .map(|entry| entry.unwrap())
        .filter(|entry| entry.path().extension().is_some_and(|ending| ending == "toml"))
        .map(|entry| {
            let name = entry.file_name().to_string_lossy().into_owned();
            #[expect(clippy::disallowed_methods, reason = "a test reads the shipped files")]
            let text = std::fs::read_to_string(entry.path()).unwrap();
            let circuit = file::parse(&text, &name).unwrap_or_else(|error| panic!("{error}"));
            (name, circuit)
        })
        .collect();
    circuits.sort_by(|a, b| a.0.cmp(&b.0));
    assert_eq!(circuits.len(), 15);
    circuits
}

fn shipped(name: &str) -> Circuit {
    let file = format!("{name}.toml");
    shipped_circuits().into_iter().find(|(other, _)| *other == file).unwrap().1
}

/// No fault, and each one.
fn fault_sets(circuit: &Circuit) -> Vec<Vec<FaultId>> {
    let mut sets = vec![Vec::new()];
    sets.extend(circuit.faults().iter().map(|fault| vec![fault.id.clone()]));
    sets
}

/// States that a technician brings a vehicle into: key, engine, each connector apart, each fuse and relay out, each position,
/// battery cable off, a jumper between the first two roles.
fn states(circuit: &Circuit) -> Vec<(String, VehicleState)> {
    let on = VehicleState { key: Key::On, ..circuit.start().clone() };
    let mut states = vec![
        ("key off".to_owned(), VehicleState { key: Key::Off, ..on.clone() }),
        ("key on".to_owned(), on.clone()),
        ("cranking".to_owned(), VehicleState { engine: Engine::Cranking, ..on.clone() }),
        ("running".to_owned(), VehicleState { engine: Engine::Running, ..on.clone() }),
        ("battery off".to_owned(), VehicleState { battery: Battery::Disconnected, ..on.clone() }),
    ];
    for connector in circuit.connectors() {
        let mut state = on.clone();
        state.unplugged.insert(connector.id.clone());
        states.push((format!("{} apart", connector.id), state));
    }
    for part in circuit.parts().iter().filter(|part| matches!(part.word, "fuse" | "relay")) {
        let mut state = VehicleState { engine: Engine::Cranking, ..on.clone() };
        state.removed.insert(part.id.clone());
        states.push((format!("{} out", part.id), state));
    }
    for movement in circuit.movements() {
        for position in movement.sweep(5) {
            let mut state = on.clone();
            state.positions.insert(movement.id.clone(), position.clone());
            states.push((format!("{} at {position}", movement.id), state));
        }
    }
    let roles: Vec<_> = circuit.roles().map(|(_, point)| point.id.clone()).collect();
    for pair in roles.windows(2) {
        let mut state = on.clone();
        let through = Some("1 kohm".parse().unwrap());
        state.jumpers.push(Jumper { from: pair[0].clone(), to: pair[1].clone(), through });
        states.push((format!("jumper {} to {}", pair[0], pair[1]), state));
    }
    states
}

/// A random network as a circuit file: a chain that reaches every node, more resistors across it, sources, and perhaps diodes.
fn random_network(seed: u64, with_diodes: bool) -> String {
    use rand::rngs::StdRng;
    use rand::{RngExt, SeedableRng};
    let mut random = StdRng::seed_from_u64(seed);
    let nodes = random.random_range(2..=20);
    let names: Vec<String> = (0..=nodes).map(|node| format!("p{node}")).collect();
    let mut parts = Vec::new();
    let two = |random: &mut StdRng| {
        let from = random.random_range(0..=nodes);
        (from, (from + random.random_range(1..=nodes)) % (nodes + 1))
    };
    let ohms = |random: &mut StdRng| 10f64.powf(random.random_range(-1.0..6.0));
    for node in 1..=nodes {
        let other = random.random_range(0..node);
        let ohms = ohms(&mut random);
        parts.push(format!("{{ id = \"chain{node}\", kind = \"resistor\", from = \"p{other}\", to = \"p{node}\", resistance = \"{ohms} ohm\" }}"));
    }
    for extra in 0..random.random_range(0..=2 * nodes) {
        let (from, to) = two(&mut random);
        let ohms = ohms(&mut random);
        parts.push(format!("{{ id = \"extra{extra}\", kind = \"resistor\", from = \"p{from}\", to = \"p{to}\", resistance = \"{ohms} ohm\" }}"));
    }
    for source in 0..random.random_range(1..=3) {
        let (from, to) = two(&mut random);
        let (volts, ohms): (f64, f64) = (random.random_range(-48.0..48.0), 10f64.powf(random.random_range(-2.0..2.0)));
        parts.push(format!("{{ id = \"source{source}\", kind = \"battery\", positive = \"p{from}\", negative = \"p{to}\", volts = \"{volts} V\", resistance = \"{ohms} ohm\" }}"));
    }
    if with_diodes {
        for diode in 0..random.random_range(1..=3) {
            let (from, to) = two(&mut random);
            parts.push(format!("{{ id = \"diode{diode}\", kind = \"diode\", from = \"p{from}\", to = \"p{to}\" }}"));
        }
    }
    let points: Vec<String> = names.iter().map(|name| format!("{{ id = \"{name}\" }}")).collect();
    let (points, parts) = (points.join(", "), parts.join(",\n  "));
    format!(
        "title = \"Random network {seed}\"\nzero_volts = \"p0\"\nstart = {{ key = \"on\" }}\npoint = [{points}]\npart = [\n  {parts},\n]\n"
    )
}
