//! Places and poles of the Solar System's bodies against published ones. Each data file names its source in its first lines.

use visviva_engine::conic::State;
use visviva_engine::system::{EphemerisChoice, System};
use visviva_engine::time::Epoch;
use visviva_engine::vector::{Mat3, Vec3};
use visviva_tests::{Record, Table, read_csv};

/// Earth over Moon in mass, DE440: the barycentre of the two is one of the bodies that the tables name.
const EARTH_MOON_RATIO: f64 = 81.300_568_221_497_215;

pub(crate) fn tables() -> Vec<Table> {
    vec![
        states("bodies/states_icrf.csv"),
        states("bodies/states_ecliptic.csv"),
        states("bodies/states_frame_cross.csv"),
        planets_by_formula(),
        moons_by_formula(),
        poles_and_meridians(),
        moons_as_published(EphemerisChoice::Default),
        moons_as_published(EphemerisChoice::Mean),
        planets_as_measured(),
    ]
}

fn sol(choice: EphemerisChoice) -> System {
    System::embedded("sol", choice).expect("the Solar System is built in")
}

/// The elements that a row's table number means.
fn elements(row: &Record) -> EphemerisChoice {
    if row.text("table") == "1" { EphemerisChoice::MeanNarrow } else { EphemerisChoice::Mean }
}

fn epoch(row: &Record, column: &str) -> Result<Epoch, String> {
    let day = row.number(column);
    Epoch::from_julian_date_tdb(day.floor(), day - day.floor()).map_err(|error| error.to_string())
}

fn vector(row: &Record) -> Vec3 {
    Vec3::from(row.vector(["x_km", "y_km", "z_km"]))
}

pub(crate) fn title(name: &str) -> String {
    let mut letters = name.chars();
    letters.next().map(|first| first.to_uppercase().collect::<String>() + letters.as_str()).unwrap_or_default()
}

/// State in km and km/s of a body as the tables name it, about the Solar System barycentre or another body.
fn state(system: &System, name: &str, about: &str, epoch: Epoch) -> Result<State, String> {
    let body = |name: &str| system.body(&title(name)).map_err(|error| error.to_string());
    let whole = |name: &str| {
        let found = match about {
            "ssb" => body(name)?.state_about_barycentre(epoch),
            other => body(name)?.state_about(&body(other)?, epoch),
        };
        found.map_err(|error| error.to_string())
    };
    let mut found = whole(if name == "emb" { "earth" } else { name.strip_suffix("_bary").unwrap_or(name) })?;
    if name == "emb" {
        let moon = body("moon")?.state(epoch).map_err(|error| error.to_string())?;
        found.position += moon.position / (1.0 + EARTH_MOON_RATIO);
        found.velocity += moon.velocity / (1.0 + EARTH_MOON_RATIO);
    }
    Ok(State { position: found.position / 1e3, velocity: found.velocity / 1e3 })
}

/// The axes of a frame that the tables name, as columns in ICRF axes.
fn frame(system: &System, name: &str) -> Result<Mat3, String> {
    match name {
        "icrf" => Ok(Mat3::identity()),
        "ecl2000" => Ok(system.plane()),
        other => Err(format!("unknown frame {other}")),
    }
}

/// Fills a table from the rows of a file; a row that cannot be answered fails.
fn filled(mut table: Table, file: &str, check: impl Fn(&mut Table, &Record) -> Result<(), String>) -> Table {
    for row in read_csv(file) {
        if let Err(why) = check(&mut table, &row) {
            table.failed(format!("{row:?}"), why);
        }
    }
    table
}

/// States of the pack against DE440. 2 km and 2e-4 km/s are the stated error of one track, 1 km and 1e-4 km/s, for the two
/// tracks that a difference takes.
fn states(file: &str) -> Table {
    let system = sol(EphemerisChoice::Default);
    filled(Table::new(file, "JPL DE440, geometric states; bound: the pack's stated error"), file, |table, row| {
        let axes = frame(&system, row.text("frame"))?.transpose();
        let found = state(&system, row.text("body"), row.text("center"), epoch(row, "jd_tdb")?)?;
        let id = format!("{} about {} at {}", row.text("body"), row.text("center"), row.text("jd_tdb"));
        let published = Vec3::from(row.vector(["vx_km_s", "vy_km_s", "vz_km_s"]));
        table.add(format!("{id} place"), (axes * found.position - vector(row)).norm(), 2.0, "km");
        table.add(format!("{id} velocity"), (axes * found.velocity - published).norm(), 2e-4, "km/s");
        Ok(())
    })
}

/// The file was computed from the same elements by other code. 1e-3 km at the distance of Neptune is 2e-13 rad, a hundred
/// roundings of an angle of some turns.
fn planets_by_formula() -> Table {
    let file = "bodies/standish_checks.csv";
    let source = "JPL approximate positions of the planets, tables 1 and 2, evaluated by other code";
    let systems = [EphemerisChoice::MeanNarrow, EphemerisChoice::Mean].map(sol);
    filled(Table::new(file, source), file, |table, row| {
        let system = &systems[usize::from(elements(row) == EphemerisChoice::Mean)];
        let found = state(system, &row.text("planet").to_lowercase(), "sun", epoch(row, "jd_tdb")?)?;
        let off = system.plane().transpose() * found.position - vector(row);
        let id = format!("table {} {} at {}", row.text("table"), row.text("planet"), row.text("jd_tdb"));
        table.add(id, off.norm(), 1e-3, "km");
        Ok(())
    })
}

/// As above: the same elements, other code, 1e-3 km.
fn moons_by_formula() -> Table {
    let file = "bodies/moons_mean_checks.csv";
    let system = sol(EphemerisChoice::Mean);
    filled(Table::new(file, "moons_mean_elements.csv, evaluated by other code"), file, |table, row| {
        let moon = system.body(&title(row.text("moon"))).map_err(|error| error.to_string())?;
        let found = moon.state(epoch(row, "jd_tdb")?).map_err(|error| error.to_string())?.position / 1e3;
        let id = format!("{} at {}", row.text("moon"), row.text("jd_tdb"));
        table.add(id, (found - vector(row)).norm(), 1e-3, "km");
        Ok(())
    })
}

/// Poles and meridians to 1e-6 degrees, ten units of the file's last digit of the meridian; unit vectors to the same, 2e-8.
fn poles_and_meridians() -> Table {
    let file = "bodies/rotation_checks.csv";
    let source = "IAU working group on rotational elements, 2015 model, evaluated by other code";
    let system = sol(EphemerisChoice::Mean);
    let turn = |a: f64, b: f64| ((a.to_degrees() - b + 540.0).rem_euclid(360.0) - 180.0).abs();
    filled(Table::new(file, source), file, |table, row| {
        let id = format!("{} at {}", row.text("body"), row.text("jd_tdb"));
        let body = system.body(&title(row.text("body"))).map_err(|error| error.to_string())?;
        let epoch = epoch(row, "jd_tdb")?;
        let (right_ascension, declination, meridian) = body.orientation(epoch);
        table.add(format!("{id} ra"), turn(right_ascension, row.number("pole_ra_deg")), 1e-6, "deg");
        table.add(format!("{id} dec"), turn(declination, row.number("pole_dec_deg")), 1e-6, "deg");
        table.add(format!("{id} w"), turn(meridian, row.number("w_deg")), 1e-6, "deg");
        let prime = body.body_fixed(epoch).column(0) - Vec3::from(row.vector(["pm_x", "pm_y", "pm_z"]));
        let pole = body.pole(epoch) - Vec3::from(row.vector(["pole_x", "pole_y", "pole_z"]));
        table.add(format!("{id} meridian vector"), prime.norm(), 2e-8, "of 1");
        table.add(format!("{id} pole vector"), pole.norm(), 2e-8, "of 1");
        Ok(())
    })
}

/// Directions of moons against published places. Bounds as measured when the elements were fitted: 0.2 degrees, 2.5 for Mimas
/// (a libration of 45 degrees), 2.7 for the Moon by mean elements; from the pack the Moon stands within its 2 km. TT counts as
/// TDB here: the 2 ms between them move the fastest moon by 4 m.
fn moons_as_published(choice: EphemerisChoice) -> Table {
    let file = "bodies/moon_positions_check.csv";
    let name = format!("{file} {choice:?}");
    let system = sol(choice);
    filled(Table::new(&name, "JPL Horizons, stored copies; bound: the fit of the mean elements"), file, |table, row| {
        let found = state(&system, row.text("moon"), row.text("center"), epoch(row, "jd")?)?.position;
        let published = frame(&system, row.text("frame"))? * vector(row);
        let bound = match (row.text("moon"), choice) {
            ("mimas", _) => 2.5,
            ("moon", EphemerisChoice::Mean) => 2.7,
            ("moon", _) => (2.0 / published.norm()).to_degrees(),
            _ => 0.2,
        };
        let angle = found.cross(&published).norm().atan2(found.dot(&published)).to_degrees();
        table.add(format!("{} at {}", row.text("moon"), row.text("jd")), angle, bound, "deg");
        Ok(())
    })
}

/// How far the mean elements of planets are from DE440: as far as was measured, no farther and not by luck much less. Rows
/// whose years and kernel the pack does not hold are left out; 1 % and 4 km cover the pack's own error.
fn planets_as_measured() -> Table {
    let file = "bodies/standish_accuracy.csv";
    let pack = sol(EphemerisChoice::Default);
    let systems = [EphemerisChoice::MeanNarrow, EphemerisChoice::Mean].map(sol);
    let source = "measured against DE440 every 2 days; here against the pack";
    filled(Table::new(file, source), file, |table, row| {
        let year = |column: &str| {
            Epoch::parse(&format!("{}-01-01T00:00:00 TDB", row.text(column))).map_err(|error| error.to_string())
        };
        let (first, last) = (year("from_year")?, year("to_year")?);
        let held = pack.span().is_some_and(|(start, end)| start <= first && last <= end);
        if row.text("kernel") != "DE440" || !held {
            return Ok(());
        }
        let mean = &systems[usize::from(elements(row) == EphemerisChoice::Mean)];
        let name = row.text("planet").to_lowercase();
        let days = (last.seconds_since(first) / 86_400.0) as u32;
        let mut worst = 0.0_f64;
        for day in (0..=days).step_by(2) {
            let epoch = first.after(f64::from(day) * 86_400.0);
            let truth = state(&pack, &name, row.text("origin"), epoch)?.position;
            worst = worst.max((state(mean, &name, "sun", epoch)?.position - truth).norm());
        }
        let measured = row.number("max_km");
        let id = format!("table {} {} about {}", row.text("table"), row.text("planet"), row.text("origin"));
        table.add(id, (worst - measured).abs(), measured * 0.01 + 4.0, "km");
        Ok(())
    })
}

#[test]
fn an_epoch_outside_the_pack_is_refused_with_its_span() {
    let system = sol(EphemerisChoice::Default);
    let epoch = Epoch::parse("2150-01-01T00:00:00 TDB").expect("an epoch");
    let error = system.body("Mars").expect("Mars").state(epoch).expect_err("outside");
    let text = error.to_string();
    assert!(text.contains("1950-01-01") && text.contains("2100-01-01") && text.contains("2150-01-01"), "{text}");
    assert!(error.hint().is_some_and(|hint| hint.contains("mean")));
}

/// The bounds that encounter searches rely on, sampled over the whole span of each ephemeris.
#[test]
fn bounds_of_distance_and_speed_hold() {
    for choice in [EphemerisChoice::Default, EphemerisChoice::MeanNarrow, EphemerisChoice::Mean] {
        let system = sol(choice);
        let (first, last) = system.span().expect("a span");
        let whole = last.seconds_since(first);
        for body in system.bodies().into_iter().skip(1) {
            let ((least, greatest), fastest) = (body.radial_bounds(), body.speed_bound());
            for step in 0..=20_000 {
                let state = body.state(first.after(whole * f64::from(step) / 20_000.0)).expect("within the span");
                let (distance, speed) = (state.position.norm(), state.velocity.norm());
                let held = least <= distance && distance <= greatest && speed <= fastest;
                assert!(held, "{choice:?} {}: {distance} m, {speed} m/s", body.name());
            }
        }
    }
}
