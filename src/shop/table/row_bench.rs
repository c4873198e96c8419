//! The simulated circuit of a table, with the faults that each row puts into it.

use crate::circuit::netlist::Circuit;
use crate::model::job::Nominal;
use crate::model::started::PlacedFault;
use crate::model::vehicle::VehicleState;
use crate::run::bench::BenchAnswerer;
use crate::shop::simulated::{self, Simulated};
use crate::shop::table::columns::{Columns, FAULT, SEED};
use std::sync::Arc;

/// A circuit that answers for every row.
pub struct RowBench {
    name: String,
    circuit: Arc<Circuit>,
}

impl RowBench {
    /// Of a circuit by its name.
    pub const fn new(name: String, circuit: Arc<Circuit>) -> Self {
        Self { name, circuit }
    }

    /// What stands for the vehicle's name where the row gives none.
    pub fn vehicle_name(&self) -> String {
        simulated::vehicle_name(&self.circuit)
    }

    /// The nominal voltage of its system.
    pub fn nominal(&self) -> Option<Nominal> {
        self.circuit.nominal()
    }

    /// How the simulated vehicle stands before the row says otherwise.
    pub fn vehicle(&self, minute: i64) -> VehicleState {
        simulated::vehicle(&self.circuit, VehicleState::default(), minute)
    }

    /// What is put into the circuit for this row, or what is wrong with its cells. Where no seed is given it is the row's
    /// number: the same row is the same vehicle every time, with whatever fault.
    pub fn of_row(
        &self,
        line: u64,
        columns: &Columns,
        record: &csv::StringRecord,
    ) -> Result<(Simulated, BenchAnswerer), String> {
        let mut faults: Vec<PlacedFault> = Vec::new();
        let cell = columns.cell(record, FAULT).unwrap_or_default();
        let in_cell = |problem: String| format!("row {line}, column {FAULT}: `{cell}`: {problem}");
        let mut names: Vec<&str> = cell.split([' ', ';']).filter(|name| !name.is_empty()).collect();
        if crate::shop::circuits::is_healthy(&names).map_err(in_cell)? {
            names.clear();
        }
        for name in names {
            let fault = crate::shop::circuits::fault(&self.circuit, name).map_err(in_cell)?;
            if !faults.iter().any(|other| other.id == fault.id) {
                faults.push(fault);
            }
        }
        let seed = match columns.cell(record, SEED) {
            None => line,
            Some(cell) => cell.parse().map_err(|_| {
                format!(
                    "row {line}, column {SEED}: `{cell}` is not a whole number from 0 to {}; an empty cell is the row's number",
                    u64::MAX
                )
            })?,
        };
        let simulated = Simulated::new(self.name.clone(), &self.circuit, faults, seed);
        let bench = simulated
            .bench(Arc::clone(&self.circuit))
            .map_err(|error| format!("row {line}, column {FAULT}: `{cell}`: {error}"))?;
        Ok((simulated, BenchAnswerer::alone(bench)))
    }
}
