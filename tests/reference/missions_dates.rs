//! Flown missions: excess speeds from their dates alone, by arcs between the bodies in the embedded ephemeris.

use visviva_engine::arc::{Arc, TransferOptions, transfer};
use visviva_engine::system::{EphemerisChoice, System};
use visviva_engine::time::Epoch;
use visviva_tests::{Table, read_toml};

/// Dates of launch, flyby and arrival, to the hour where it matters: UTC, from memory of the missions' event lists.
const LEGS: [(&str, &[(&str, &str)]); 15] = [
    ("ms01", &[("Earth", "1997-10-15T09:00:00"), ("Venus", "1998-04-26T13:45:00")]),
    ("ms03", &[("Venus", "1999-06-24T20:30:00"), ("Earth", "1999-08-18T03:28:00"), ("Jupiter", "2000-12-30T10:05:00")]),
    (
        "ms04",
        &[("Earth", "1999-08-18T03:28:00"), ("Jupiter", "2000-12-30T10:05:00"), ("Saturn", "2004-07-01T02:48:00")],
    ),
    ("ms05", &[("Earth", "1989-10-18T23:00:00"), ("Venus", "1990-02-10T05:59:00"), ("Earth", "1990-12-08T20:35:00")]),
    (
        "ms15",
        &[("Earth", "1977-09-05T12:56:00"), ("Jupiter", "1979-03-05T12:05:00"), ("Saturn", "1980-11-12T23:46:00")],
    ),
    ("ms16", &[("Jupiter", "1979-03-05T12:05:00"), ("Saturn", "1980-11-12T23:46:00")]),
    (
        "ms17",
        &[("Earth", "1977-08-20T14:29:00"), ("Jupiter", "1979-07-09T22:29:00"), ("Saturn", "1981-08-26T03:24:00")],
    ),
    (
        "ms18",
        &[("Jupiter", "1979-07-09T22:29:00"), ("Saturn", "1981-08-26T03:24:00"), ("Uranus", "1986-01-24T17:59:00")],
    ),
    (
        "ms19",
        &[("Saturn", "1981-08-26T03:24:00"), ("Uranus", "1986-01-24T17:59:00"), ("Neptune", "1989-08-25T03:56:00")],
    ),
    ("ms20", &[("Uranus", "1986-01-24T17:59:00"), ("Neptune", "1989-08-25T03:56:00")]),
    ("ms21", &[("Earth", "1973-11-03T05:45:00"), ("Venus", "1974-02-05T17:01:00"), ("Mercury", "1974-03-29T20:47:00")]),
    ("ms24", &[("Earth", "1996-11-07T17:00:00"), ("Mars", "1997-09-12T01:31:00")]),
    ("ms25", &[("Earth", "2005-08-12T11:43:00"), ("Mars", "2006-03-10T21:30:00")]),
    ("ms28", &[("Earth", "2005-11-09T03:33:00"), ("Venus", "2006-04-11T07:30:00")]),
    ("ms29", &[("Earth", "1996-11-07T00:00:00"), ("Mars", "1997-09-12T00:00:00")]),
];

/// Figures of `missions.toml` that follow from dates: launch energy, excess speeds before and after a flyby, at arrival.
pub(crate) fn table() -> Table {
    let file = "trajectory/missions.toml";
    let source = "own patched-conic figures of the file, 1 percent as its heading asks; dates and hours from memory";
    let mut table = Table::new("trajectory/missions.toml, from dates", source);
    let cases = read_toml(file);
    let system = System::embedded("sol", EphemerisChoice::Default).expect("the embedded system");
    for (id, stops) in LEGS {
        let case = cases["case"].as_array().into_iter().flatten().find(|case| case["id"].as_str() == Some(id));
        let Some(check) = case.and_then(|case| case.get("check")) else {
            table.failed(id, "not in the file");
            continue;
        };
        let arcs: Result<Vec<Arc>, String> = stops.windows(2).map(|pair| arc(&system, pair)).collect();
        let arcs = match arcs {
            Ok(arcs) => arcs,
            Err(why) => {
                table.failed(id, why);
                continue;
            }
        };
        let leaving = |i: usize| arcs.get(i).and_then(|arc| arc.v_inf_depart).map(|v| v.norm() / 1e3);
        let reaching = |i: usize| arcs.get(i).and_then(|arc| arc.v_inf_arrive).map(|v| v.norm() / 1e3);
        let c3 = leaving(0).map(|v| v * v);
        let figures = [
            ("launch_C3", c3),
            ("C3", c3),
            ("departure_vinf", leaving(0)),
            ("vinf", reaching(0)),
            ("vinf_in", reaching(0)),
            ("vinf_in_from_dates", reaching(0)),
            ("arrival_vinf", reaching(0)),
            ("vinf_out", leaving(1)),
            ("vinf_out_from_dates", leaving(1)),
            ("earth1_arrival_vinf", reaching(1)),
            ("saturn_arrival_vinf", reaching(1)),
        ];
        for (name, got) in figures {
            let Some(expected) = check.get(name).and_then(toml::Value::as_float) else { continue };
            match got {
                Some(got) => table.relative(format!("{id} {name}"), got, expected, 0.01),
                None => table.failed(format!("{id} {name}"), "no such arc"),
            }
        }
    }
    table
}

fn arc(system: &System, pair: &[(&str, &str)]) -> Result<Arc, String> {
    let body = |name: &str| system.body(name).map_err(|error| error.to_string());
    let epoch = |text: &str| Epoch::parse(&format!("{text} UTC")).map_err(|error| error.to_string());
    let (from, to) = (body(pair[0].0)?, body(pair[1].0)?);
    transfer(&from, &to, epoch(pair[0].1)?, epoch(pair[1].1)?, &TransferOptions::default())
        .map_err(|error| error.to_string())
}
