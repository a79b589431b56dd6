//! Pictures of what a script made.

use std::collections::BTreeSet;

use serde_json::{Value, json};
use visviva_engine::quantity::Quantity;
use visviva_engine::system::Body;
use visviva_engine::vector::{Mat3, Vec3};
use visviva_engine::voyage::{Leg, LegKind, TrackOptions, TrackPoint, Voyage};

use super::definition::{Answer, Definition, Example, Parameter};
use super::fault::Fault;
use super::given::Given;
use super::grid::{GRID, Grid};
use super::grid_picture::chart;
use super::handle::{Handle, VOYAGE, refused};
use super::kind::Kind;
use super::noun::Noun;
use super::table::date;
use super::value;
use crate::diagnostic::nearest::nearest;
use crate::modules::write_below;
use crate::view::plan::{BodyPath, Mark, Plan, Stretch};
use visviva_engine::numerics::watch::Watch;

/// A drawing, ready to be saved.
#[derive(Clone)]
pub struct Picture {
    name: String,
    pub(super) svg: std::sync::Arc<str>,
}

impl Picture {
    /// The same drawing as a PNG file.
    ///
    /// # Errors
    /// A program that was built without it; a drawing that is too large.
    pub(super) fn png(&self) -> Result<Vec<u8>, Fault> {
        #[cfg(feature = "png")]
        let made = crate::view::png::of(&self.svg);
        #[cfg(not(feature = "png"))]
        let made: Option<Vec<u8>> = None;
        made.ok_or_else(|| {
            let why = if cfg!(feature = "png") { "it is too large" } else { "this program was built without `png`" };
            Fault::new(format!("the picture {} cannot be rendered to points", self.name))
                .note(why)
                .help("save it as `.svg`")
        })
    }
}

impl Noun for Picture {
    const NAME: &'static str = "Picture";
    const ABOUT: &'static str = "A drawing: `save` it, or let `--pictures DIR` keep every one a script makes.";

    fn show(&self) -> String {
        format!("picture {}: {} bytes of SVG", self.name, self.svg.len())
    }

    fn to_json(&self) -> Value {
        json!({ "name": self.name, "svg": &*self.svg })
    }
}

/// The kinds of picture there are.
const KINDS: [&str; 3] = ["system", "porkchop", "ascent"];

pub(super) const TABLE: &[Definition] = &[
    Definition {
        summary: "A picture: \"system\" shows the paths of the bodies and of a voyage from above, \"porkchop\" the contours of a grid, \"ascent\" a voyage's first flight.",
        parameters: &[
            Parameter::new("kind", Kind::Text, "\"system\", \"porkchop\" or \"ascent\""),
            Parameter::new(
                "of",
                Kind::Either(&[VOYAGE, GRID]),
                "a voyage, of which what has been flown so far is drawn, or a grid",
            ),
        ],
        returns: (
            Kind::Noun("Picture"),
            "seen from the pole of the reference plane; or bands of Δv, contours of C3 and of the arrival's v-infinity, minima; \
             or height over distance along the ground, and speed, dynamic pressure, felt acceleration, mass and throttle over time",
        ),
        see_also: &["save", "voyage", "porkchop"],
        examples: &[
            Example::exact(
                "let e = system(\"velm\").Veyra; let v = voyage(vehicle(#{ dry: 2.tonnes, propellant: 3.tonnes, isp: 320.s }), \
             circular(e, 300.km)); v.coast(1.days); picture(\"system\", v).svg.starts_with(\"<?xml\")",
                "true",
            ),
            Example::exact(
                "let s = system(\"sol\"); let g = porkchop(s.Earth, s.Mars, #{ between: [epoch(\"2033-02-01 TDB\"), epoch(\"2033-06-01 TDB\")], \
             flight_time: [120.days, 350.days], parking: 300.km, arrival: 400.km, count: 40 }); \
             picture(\"porkchop\", g).svg.contains(\"half a revolution\")",
                "true",
            ),
        ],
        ..Definition::function("picture", picture)
    },
    Definition {
        summary: "The drawing as an SVG document.",
        returns: (Kind::Text, "SVG 1.1"),
        see_also: &["save"],
        examples: &[Example::exact(
            "let e = system(\"velm\").Veyra; let v = voyage(vehicle(#{ dry: 2.tonnes, propellant: 3.tonnes, isp: 320.s }), \
             circular(e, 300.km)); picture(\"system\", v).svg.contains(\"</svg>\")",
            "true",
        )],
        ..Definition::property("Picture", "svg", |given| Ok(value::text(&*given.this::<Picture>()?.svg)))
    },
];

fn picture(given: &Given) -> Answer {
    let kind = given.text(0)?;
    let made = match kind.as_str() {
        "system" => {
            if !VOYAGE.accepts(given.value(1)?) {
                return Err(Fault::new("a picture of a system is drawn of a voyage")
                    .help("write picture(\"system\", v)")
                    .at(1));
            }
            let voyage = given.noun::<Handle>(1)?.voyage();
            let stopped = || given.run.stopped();
            let plan = drawn(&voyage, &Watch::new(&stopped))?;
            Picture { name: format!("{kind} {}", voyage.name()), svg: plan.draw().into() }
        }
        "ascent" => {
            if !VOYAGE.accepts(given.value(1)?) {
                return Err(Fault::new("a picture of an ascent is drawn of a voyage")
                    .help("write picture(\"ascent\", v)")
                    .at(1));
            }
            let voyage = given.noun::<Handle>(1)?.voyage();
            let svg = super::ascent_picture::drawn(&voyage)?.draw();
            Picture { name: format!("{kind} {}", voyage.name()), svg: svg.into() }
        }
        "porkchop" => {
            if !GRID.accepts(given.value(1)?) {
                return Err(Fault::new("contours are drawn of a grid")
                    .help("write picture(\"porkchop\", porkchop(from, to, #{ ... }))")
                    .at(1));
            }
            let grid = given.noun::<Grid>(1)?;
            let year = date(grid.grid.dates().begin);
            let year = year.split('-').next().unwrap_or_default();
            let name = format!("{kind} {} {} {year}", grid.grid.from().name(), grid.grid.to().name());
            Picture { name, svg: chart(&grid)?.draw().into() }
        }
        _ => {
            let fault = Fault::new(format!("there is no picture of the kind `{kind}`"))
                .help("write picture(\"system\", v), picture(\"porkchop\", grid) or picture(\"ascent\", v)")
                .at(0);
            return Err(match nearest(&kind, KINDS) {
                Some(near) => fault.note(format!("did you mean `{near}`?")),
                None => fault,
            });
        }
    };
    if let Some(folder) = &given.run.settings.pictures {
        write_below(folder, &file_name(&made.name, "svg"), made.svg.as_bytes())?;
        if cfg!(feature = "png") {
            write_below(folder, &file_name(&made.name, "png"), &made.png()?)?;
        }
    }
    Ok(value::noun(made))
}

/// `system-mars-and-back.svg` for `system Mars and back`.
fn file_name(name: &str, ending: &str) -> String {
    let words: Vec<String> =
        name.split(|c: char| !c.is_alphanumeric()).filter(|word| !word.is_empty()).map(str::to_lowercase).collect();
    format!("{}.{ending}", words.join("-"))
}

/// What the drawing shows, gathered from the voyage's record.
fn drawn(voyage: &Voyage, watch: &Watch<'_>) -> Result<Plan, Fault> {
    let legs = voyage.legs();
    let visited = visited(voyage, &legs);
    let centre = centre(&visited);
    let frame = centre.orbit_plane();
    let options = TrackOptions { about: Some(centre.clone()), ..TrackOptions::default() };
    let track = voyage.track(&options, watch).map_err(|error| refused(&error))?;
    Ok(Plan {
        title: voyage.name().to_owned(),
        subtitle: format!("{} to {}", day(&date(voyage.start().epoch())), day(&date(voyage.epoch()))),
        centre: centre.name().to_owned(),
        plane: "from the north of the plane in which orbits are counted; its x axis points right".to_owned(),
        bodies: paths(&centre, &visited, voyage, &frame),
        stretches: stretches(&track.points, &centre, &frame),
        marks: marks(&legs, &centre, &frame),
    })
}

/// The bodies that the craft was about, each once, in order.
fn visited(voyage: &Voyage, legs: &[&Leg]) -> Vec<Body> {
    let mut bodies = vec![voyage.start().body().clone()];
    for piece in legs.iter().flat_map(|leg| leg.pieces()) {
        if !bodies.contains(piece.body()) {
            bodies.push(piece.body().clone());
        }
    }
    bodies
}

/// The innermost body that all of them go round, or are.
fn centre(visited: &[Body]) -> Body {
    let line = |body: &Body| -> Vec<Body> { std::iter::once(body.clone()).chain(body.ancestors()).collect() };
    let first = line(&visited[0]);
    first
        .iter()
        .find(|candidate| visited.iter().all(|body| line(body).contains(candidate)))
        .cloned()
        .unwrap_or_else(|| visited[0].system().root())
}

fn flat(frame: &Mat3, place: &Vec3) -> (f64, f64) {
    let local = frame.tr_mul(place);
    (local.x, local.y)
}

/// The paths of the children that matter: those visited, and those that go round no farther out than a third more.
fn paths(centre: &Body, visited: &[Body], voyage: &Voyage, frame: &Mat3) -> Vec<BodyPath> {
    const POINTS: usize = 180;
    let touched: BTreeSet<String> = visited
        .iter()
        .flat_map(|body| std::iter::once(body.clone()).chain(body.ancestors()))
        .map(|body| body.name().to_owned())
        .collect();
    let children = centre.children();
    let reach = children
        .iter()
        .filter(|child| touched.contains(child.name()))
        .filter_map(Body::semi_major_axis)
        .fold(0.0, f64::max);
    children
        .iter()
        .filter(|child| touched.contains(child.name()) || child.semi_major_axis().is_some_and(|a| a < 1.34 * reach))
        .filter_map(|child| {
            let year = child.orbital_period()?;
            let start = voyage.start().epoch();
            let points: Vec<(f64, f64)> = (0..=POINTS)
                .map_while(|index| {
                    let epoch = start.try_after(year * index as f64 / POINTS as f64).ok()?;
                    child.state(epoch).ok().map(|state| flat(frame, &state.position))
                })
                .collect();
            Some(BodyPath { name: child.name().to_owned(), points })
        })
        .collect()
}

/// The path of the craft, cut where it goes from about one body to about another.
fn stretches(points: &[TrackPoint], centre: &Body, frame: &Mat3) -> Vec<Stretch> {
    // Seen from the centre, a moon's neighbourhood is its planet's.
    let place = |body: &Body| -> Body {
        let mut line: Vec<Body> = std::iter::once(body.clone()).chain(body.ancestors()).collect();
        line.truncate(line.iter().position(|above| above == centre).unwrap_or(line.len()));
        line.pop().unwrap_or_else(|| centre.clone())
    };
    let runs: Vec<&[TrackPoint]> = points.chunk_by(|a, b| place(&a.body) == place(&b.body)).collect();
    let extent = points.iter().map(|point| point.state.position.norm()).fold(0.0, f64::max);
    runs.iter()
        .enumerate()
        .filter_map(|(index, run)| {
            let here = &place(&run.first()?.body);
            let path: Vec<(f64, f64)> = run.iter().map(|point| flat(frame, &point.state.position)).collect();
            // What is smaller than a line is wide would only take a name in the list.
            let first = run.first()?.state.position;
            let long = run.iter().any(|point| (point.state.position - first).norm() > 0.05 * extent);
            let other = |step: Option<usize>| step.and_then(|at| runs.get(at)).and_then(|run| run.first());
            let name = match (other(index.checked_sub(1)), other(Some(index + 1))) {
                _ if here != centre => format!("with {}", here.name()),
                (Some(from), Some(to)) => format!("{} to {}", place(&from.body).name(), place(&to.body).name()),
                (Some(from), None) => format!("from {}", place(&from.body).name()),
                (None, Some(to)) => format!("to {}", place(&to.body).name()),
                (None, None) => format!("about {}", centre.name()),
            };
            long.then_some(Stretch { name, points: path })
        })
        .collect()
}

/// Burns and arrivals, in order.
fn marks(legs: &[&Leg], centre: &Body, frame: &Mat3) -> Vec<Mark> {
    let mut marks = Vec::new();
    for leg in legs {
        let burned = match &leg.kind {
            LegKind::Burn { before, .. } => Some(before),
            LegKind::Flown(path) if leg.dv > 0.0 => Some(path.before()),
            _ => None,
        };
        if let Some(before) = burned {
            let place =
                before.body().state_about(centre, before.epoch()).map(|there| there.position + before.state().position);
            if let Ok(place) = place {
                marks.push(Mark {
                    at: flat(frame, &place),
                    what: format!("{}, {}", leg.name, before.body().name()),
                    detail: format!("{}, {}", date(leg.start), Quantity::speed(leg.dv).show()),
                });
            }
        }
        for piece in leg.pieces() {
            let Some(patch) = piece.patch.as_ref().filter(|patch| !patch.is_outward()) else { continue };
            let place = piece
                .body()
                .state_about(centre, patch.epoch)
                .map(|there| there.position + piece.orbit.state().position);
            if let Ok(place) = place {
                let speed = piece.orbit.v_infinity().map(|v| format!(", v-infinity {}", Quantity::speed(v).show()));
                marks.push(Mark {
                    at: flat(frame, &place),
                    what: format!("arrival at {}", piece.body().name()),
                    detail: format!("{}{}", date(patch.epoch), speed.unwrap_or_default()),
                });
            }
        }
    }
    marks
}

/// The date of an epoch's text, without the hour.
fn day(text: &str) -> &str {
    text.split(' ').next().unwrap_or(text)
}
