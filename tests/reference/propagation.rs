//! Flight along a conic: computed values of 25 digits.

use visviva_engine::conic::{State, angular_momentum, energy, propagate};
use visviva_engine::vector::Vec3;
use visviva_tests::{Record, Table, read_csv};

const ROUNDING: f64 = 2.2e-16;
const FILE: &str = "trajectory/propagation.csv";

fn start(row: &Record) -> State {
    State::new(Vec3::from(row.vector(["r0x", "r0y", "r0z"])), Vec3::from(row.vector(["v0x", "v0y", "v0z"])))
}

fn condition(row: &Record) -> f64 {
    row.number("cond_r").max(row.number("cond_v"))
}

/// Place and velocity of every row of `propagation.csv`.
pub(crate) fn table() -> Table {
    let source = "computed with 60 digits; bound (20 + 20 cond) 2.2e-16 of the vector's norm, as its readme states";
    let mut table = Table::new(FILE, source);
    for row in read_csv(FILE) {
        let id = row.text("id");
        let end = match propagate(row.number("mu"), &start(&row), row.number("dt")) {
            Ok(end) => end,
            Err(error) => {
                table.failed(id, error);
                continue;
            }
        };
        let bound = (20.0 + 20.0 * condition(&row)) * ROUNDING;
        let expected = Vec3::from(row.vector(["rx", "ry", "rz"]));
        table.add(format!("{id} place"), (end.position - expected).norm() / expected.norm(), bound, "relative");
        let expected = Vec3::from(row.vector(["vx", "vy", "vz"]));
        table.add(format!("{id} velocity"), (end.velocity - expected).norm() / expected.norm(), bound, "relative");
    }
    table
}

/// Energy and angular momentum of every row, and the way back.
pub(crate) fn conserved_table() -> Table {
    let source = "conservation laws; bound (20 + 20 cond) 2.2e-16 of v²/2 + gm/r and of r v";
    let mut table = Table::new("trajectory/propagation.csv conserved", source);
    for row in read_csv(FILE) {
        let (id, mu, start) = (row.text("id"), row.number("mu"), start(&row));
        let bound = (20.0 + 20.0 * condition(&row)) * ROUNDING;
        let Ok(end) = propagate(mu, &start, row.number("dt")) else {
            table.failed(id, "no answer");
            continue;
        };
        let size = |state: &State| 0.5 * state.velocity.norm_squared() + mu / state.radius();
        let off = (energy(mu, &end) - energy(mu, &start)).abs() / size(&start).max(size(&end));
        table.add(format!("{id} energy"), off, bound, "relative");
        let sweep = |state: &State| state.radius() * state.speed();
        let off = (angular_momentum(&end) - angular_momentum(&start)).norm() / sweep(&start).max(sweep(&end));
        table.add(format!("{id} angular momentum"), off, bound, "relative");
    }
    table
}
