//! Launch opportunities: handbook energies and a recomputation, against Lambert arcs, the embedded ephemeris and the search.

use visviva_engine::arc::lambert::{self, Branch, Way};
use visviva_engine::arc::valley::{Bounds, descend};
use visviva_engine::arc::{Rank, TransferOptions, WindowOptions, transfer, windows};
use visviva_engine::conic::{State, angular_momentum};
use visviva_engine::numerics::watch::Watch;
use visviva_engine::system::{Body, EphemerisChoice, System};
use visviva_engine::time::Epoch;
use visviva_engine::vector::Vec3;
use visviva_tests::{Record, Table, read_csv};

const DAY: f64 = 86_400.0;

/// Most speed of Earth about the Earth-Moon barycentre, km/s: the Moon's at perigee, 1.082, times its share of the mass, 1/82.3
/// [Murray1999, appendix A; from memory].
const CIRCLE: f64 = 0.0132;

/// C3 (km²/s²) and arrival excess speed (km/s) of the arc between two heliocentric states.
fn energies(gm: f64, from: &State, to: &State, seconds: f64) -> Option<(f64, f64)> {
    let sense = Way::Prograde(angular_momentum(from));
    let arc = lambert::solve_one(gm, &from.position, &to.position, seconds, sense, 0, Branch::Single).ok()?;
    let c3 = (arc.v1 - from.velocity).norm_squared() / 1e6;
    Some((c3, (arc.v2 - to.velocity).norm() / 1e3))
}

struct Sky {
    sun_gm: f64,
    earth: Body,
    moon: Body,
    target: Body,
    depart: Epoch,
    arrive: Epoch,
}

impl Sky {
    fn of(row: &Record) -> Self {
        let system = System::embedded("sol", EphemerisChoice::Default).expect("the embedded system");
        let body = |name: &str| system.body(name).expect("a body of the file's pairs");
        let date = |column: &str| {
            let days = row.number(column);
            Epoch::from_julian_date_tdb(days.floor(), days.fract()).expect("a date of this century")
        };
        let target = row.text("pair").trim_start_matches("Earth-").to_owned();
        Self {
            sun_gm: system.root().gm(),
            earth: body("Earth"),
            moon: body("Moon"),
            target: body(&target),
            depart: date("dep_jd"),
            arrive: date("arr_jd"),
        }
    }

    /// The Earth-Moon barycentre: what the handbooks depart from.
    fn barycentre(&self, epoch: Epoch) -> Option<State> {
        let (earth, moon) = (self.earth.state(epoch).ok()?, self.moon.state(epoch).ok()?);
        let share = self.moon.gm() / (self.earth.gm() + self.moon.gm());
        Some(State {
            position: earth.position + moon.position * share,
            velocity: earth.velocity + moon.velocity * share,
        })
    }

    fn barycentre_energies(&self, depart: Epoch, arrive: Epoch) -> Option<(f64, f64)> {
        let (from, to) = (self.barycentre(depart)?, self.target.state(arrive).ok()?);
        energies(self.sun_gm, &from, &to, arrive.seconds_since(depart))
    }
}

/// Every row of `opportunities.csv` at its own dates, with the embedded ephemeris.
pub(crate) fn dates_table() -> Table {
    let file = "trajectory/opportunities.csv";
    let source = "handbooks named in the rows; bounds of the file's readme: 0.02 in C3 and 0.01 km/s beside the recomputation, \
                  0.03 and 0.005 km/s beside the published figures";
    let mut table = Table::new("trajectory/opportunities.csv, at its dates", source);
    for row in read_csv(file) {
        let id = row.text("id").to_owned();
        let sky = Sky::of(&row);
        let Some((c3, v_infinity)) = sky.barycentre_energies(sky.depart, sky.arrive) else {
            table.failed(id, "no arc from the barycentre");
            continue;
        };
        let mut compare = |name: &str, got: f64, column: &str, bound: f64, unit: &'static str| {
            if row.has(column) {
                table.add(format!("{id} {name}"), (got - row.number(column)).abs(), bound, unit);
            }
        };
        compare("C3 recomputed", c3, "C3_emb", 0.02, "km²/s²");
        compare("v-infinity recomputed", v_infinity, "vinf_emb", 0.01, "km/s");
        compare("C3 published", c3, "C3_published", 0.03, "km²/s²");
        compare("v-infinity published", v_infinity, "vinf_published", 0.005, "km/s");
        match transfer(&sky.earth, &sky.target, sky.depart, sky.arrive, &TransferOptions::default()) {
            Ok(arc) => {
                let arriving = arc.v_inf_arrive.map_or(f64::NAN, |v| v.norm() / 1e3);
                compare("C3 from Earth", arc.c3 / 1e6, "C3_earth", 0.02, "km²/s²");
                compare("v-infinity from Earth", arriving, "vinf_earth", 0.01, "km/s");
                let departing = arc.v_inf_depart.unwrap_or_else(Vec3::zeros);
                let theta = arc.theta.to_degrees();
                compare("angle swept", theta, "theta_deg", 0.6, "deg");
                if departing.norm() == 0.0 {
                    table.failed(id, "no departure asymptote");
                }
            }
            Err(error) => table.failed(id, error),
        }
    }
    table
}

/// What a row's criterion asks for: the measure, and an upper bound of the flight time (days) where it names one.
fn criterion(row: &Record) -> (bool, Option<f64>) {
    let text = row.text("criterion");
    let limit = text.split("<=").nth(1).and_then(|rest| rest.trim().trim_end_matches('d').trim().parse().ok());
    (text.starts_with("min C3"), limit)
}

/// Every row is a minimum of the measure its criterion names: the search's descent, started at the row's dates, stays near them and
/// finds the same energy; from Earth itself the window search lists an opportunity there.
pub(crate) fn minima_table() -> Table {
    let source = "as above; a minimum is flat, so dates may differ by a few days (the file's heading); departure from Earth itself \
                  differs by twice the excess speed times Earth's speed about the barycentre, and by half a month";
    let mut table = Table::new("trajectory/opportunities.csv, as minima", source);
    for row in read_csv("trajectory/opportunities.csv") {
        let id = row.text("id").to_owned();
        // Rows whose note places them on the slope beside the ridge of half a revolution are no minima, by that note.
        if row.text("note").contains("ridge") {
            continue;
        }
        let sky = Sky::of(&row);
        let (by_c3, limit) = criterion(&row);
        let flight = sky.arrive.seconds_since(sky.depart);
        let longest = limit.map_or(flight + 60.0 * DAY, |days| days * DAY);
        let bounds = Bounds { low: [-40.0 * DAY, flight - 60.0 * DAY], high: [40.0 * DAY, longest] };
        let cost = |at: [f64; 2]| {
            let depart = sky.depart.after(at[0]);
            let (c3, v_infinity) = sky.barycentre_energies(depart, depart.after(at[1]))?;
            Some(if by_c3 { c3 } else { v_infinity })
        };
        let start = [3.0 * DAY, (flight - 3.0 * DAY).min(longest)];
        let Some(found) = descend(start, 2.0 * DAY, 0.1 * DAY, 60.0, bounds, &Watch::none(), cost) else {
            table.failed(id, "no arc near its dates");
            continue;
        };
        // The search may settle a flat valley's width away: 5 d, as the heading's "a few days".
        table.add(format!("{id} departure of the minimum"), found.at[0].abs() / DAY, 5.0, "d");
        let (column, bound, unit) = if by_c3 { ("C3_emb", 0.02, "km²/s²") } else { ("vinf_emb", 0.01, "km/s") };
        // The minimum cannot lie above the row's own value by more than the ephemerides differ; below it by the row's distance
        // from the true minimum too, which its whole-day dates leave: the same again.
        table.add(format!("{id} value of the minimum"), (found.value - row.number(column)).abs(), 2.0 * bound, unit);
        match search(&sky, by_c3, limit) {
            Ok(Some((days, c3))) => {
                // Earth's circle about the barycentre moves the minimum by at most half a month.
                table.add(format!("{id} departure in the window search"), days, 15.0, "d");
                if by_c3 {
                    let error = (c3 - row.number("C3_emb")).abs();
                    let bound = 2.0 * c3.sqrt() * CIRCLE + CIRCLE * CIRCLE + 0.02;
                    table.add(format!("{id} C3 in the window search"), error, bound, "km²/s²");
                }
            }
            Ok(None) => table.failed(id, "no window near its dates"),
            Err(error) => table.failed(id, error),
        }
    }
    table
}

/// The window from Earth nearest to the row's dates: how far off (days), and its C3 (km²/s²).
fn search(sky: &Sky, by_c3: bool, limit: Option<f64>) -> Result<Option<(f64, f64)>, String> {
    let between = (sky.depart.after(-60.0 * DAY), sky.depart.after(60.0 * DAY));
    let mut options = WindowOptions::new(between, 200e3);
    // The least excess speed at arrival: its weight drowns the departure's.
    options.rank = Some(if by_c3 { Rank::C3 } else { Rank::Excess { arrival_weight: 1e4 } });
    options.shoot = false;
    let flight = sky.arrive.seconds_since(sky.depart);
    options.flight_time = Some((flight - 100.0 * DAY, limit.map_or(flight + 100.0 * DAY, |days| days * DAY)));
    let found = windows(&sky.earth, &sky.target, &options, &Watch::none()).map_err(|error| error.to_string())?;
    // The same type of arc: less than half a revolution, or more.
    let sense = angular_momentum(&sky.barycentre(sky.depart).ok_or("no state")?);
    let (from, to) =
        (sky.barycentre(sky.depart).ok_or("no state")?, sky.target.state(sky.arrive).map_err(|e| e.to_string())?);
    let short = from.position.cross(&to.position).dot(&sense) > 0.0;
    let alike = found.list.iter().filter(|w| (w.arc.theta < std::f64::consts::PI) == short);
    let distance = |depart: Epoch| depart.seconds_since(sky.depart).abs() / DAY;
    let near = alike.map(|w| (distance(w.dates.0), w.estimate.v_inf_depart.unwrap_or(f64::NAN)));
    let best = near.min_by(|a, b| a.0.total_cmp(&b.0));
    Ok(best.map(|(days, v_infinity)| (days, v_infinity * v_infinity / 1e6)))
}
