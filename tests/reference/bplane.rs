//! The B-plane and its hyperbola.

use visviva_engine::arc::approach::Approach;
use visviva_engine::arc::flyby;
use visviva_engine::vector::Vec3;
use visviva_tests::{Record, Table, read_csv};

/// Every column of `bplane.csv`.
pub(crate) fn table() -> Table {
    let file = "trajectory/bplane.csv";
    let mut table = Table::new(file, "computed with 50 digits; closed forms, bound 1e-12");
    for row in read_csv(file) {
        if let Err(why) = check(&mut table, &row) {
            table.failed(row.text("id"), why);
        }
    }
    table
}

fn check(table: &mut Table, row: &Record) -> Result<(), String> {
    let text = |error: &dyn std::fmt::Display| error.to_string();
    let (id, gm, speed) = (row.text("id"), row.number("mu"), row.number("vinf"));
    let (declination, ascension) = (row.number("S_dec_deg").to_radians(), row.number("S_ra_deg").to_radians());
    let s = Vec3::new(declination.cos() * ascension.cos(), declination.cos() * ascension.sin(), declination.sin());
    let (v, north) = (s * speed, Vec3::new(0.0, 0.0, 1.0));
    let (dot_t, dot_r) = (row.number("BdotT"), row.number("BdotR"));
    let approach = Approach::from_components(&v, dot_t, dot_r, &north).map_err(|e| text(&e))?;
    let hyperbola = approach.hyperbola(gm).map_err(|e| text(&e))?;
    let bound = 1e-12;
    table.relative(format!("{id} B"), approach.aim_radius(), row.number("B_mag"), bound);
    let angle = approach.angle().to_degrees() - row.number("theta_deg");
    table.add(format!("{id} theta"), (angle - 360.0 * (angle / 360.0).round()).abs(), 180.0 * bound, "degrees");
    table.relative(format!("{id} a"), -hyperbola.semi_major_axis, row.number("a"), bound);
    table.relative(format!("{id} e"), hyperbola.eccentricity, row.number("e"), bound);
    table.relative(format!("{id} periapsis"), hyperbola.periapsis_radius, row.number("rp"), bound);
    table.relative(format!("{id} turn"), hyperbola.turn_angle.to_degrees(), row.number("turn_deg"), bound);
    let state = hyperbola.at_periapsis;
    let momentum = state.position.cross(&state.velocity);
    let inclination = momentum.x.hypot(momentum.y).atan2(momentum.z).to_degrees();
    // The column prints 15 digits.
    table.relative(format!("{id} inclination"), inclination, row.number("incl_deg"), bound);
    let vector = |name: &str| {
        Vec3::from(row.vector([&format!("{name}x"), &format!("{name}y"), &format!("{name}z")].map(String::as_str)))
    };
    for (what, got, expected) in [
        ("place at periapsis", state.position, vector("rp")),
        ("velocity at periapsis", state.velocity, vector("vp")),
        ("velocity out", hyperbola.v_infinity_out, vector("vout")),
    ] {
        table.add(format!("{id} {what}"), (got - expected).norm() / expected.norm(), bound, "relative");
    }
    let back = Approach::from_state(gm, &state, &north).map_err(|e| text(&e))?;
    let size = approach.aim_radius();
    table.add(format!("{id} back from the state"), (back.aim - approach.aim).norm() / size, bound, "relative");
    let pass = flyby::unpowered(gm, &v, &vector("vout"), 0.0, 1e-9 * speed).map_err(|e| text(&e))?;
    // The periapsis hangs on the turn: d ln rp / dδ = −½ cot(δ/2) (1 + s)/(s (1 − s))·… below 20 for these passes.
    table.relative(format!("{id} periapsis from the bend"), pass.periapsis_radius, row.number("rp"), 20.0 * bound);
    table.add(format!("{id} aim from the bend"), (pass.aim - approach.aim).norm() / size, 20.0 * bound, "relative");
    let bent = flyby::bend(gm, &v, row.number("rp"), &approach.aim).map_err(|e| text(&e))?;
    table.add(format!("{id} bent"), (bent.v_out - vector("vout")).norm() / speed, bound, "relative");
    Ok(())
}
