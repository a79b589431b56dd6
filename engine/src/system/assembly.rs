//! From the bodies of a file to a tree: parents found, orbits placed, spheres computed.

use std::f64::consts::TAU;

use toml::de::{DeTable, DeValue};

use super::air::Air;
use super::body_file::{self, BodyDraft, OrbitDraft, SpinDraft};
use super::document::Fields;
use super::ellipse::{Days, Drift, FixedEllipse, MeanEllipse};
use super::error::{Problem, SystemError, nearest};
use super::path::Path;
use super::sea::Shore;
use super::sea_file;
use super::spin::{Rotation, equator, period, pole_angles};
use super::tree::{BodyData, Inner};
use crate::constants::DAY;
use crate::time::Epoch;
use crate::vector::{Mat3, Vec3};

/// More bodies than this are a mistake, and would make the tables of a system unreadable.
const MOST_BODIES: usize = 2000;

/// What a built-in system knows of a body from its tables; what is `None` is taken from the file.
#[derive(Default)]
pub(super) struct Placement {
    pub(super) motion: Option<Motion>,
    pub(super) turning: Option<Turning>,
    /// Source and accuracy to tell of an orbit that the file gives.
    pub(super) words: Option<(String, String)>,
}

/// Where a body is to be found, and how well.
pub(super) struct Motion {
    pub(super) path: Path,
    /// Semi-major axis (m) and eccentricity that spheres of influence are computed from.
    pub(super) size: Option<(f64, f64)>,
    pub(super) source: String,
    pub(super) accuracy: String,
}

/// How a body turns; `rate` in rad/day, signed.
pub(super) struct Turning {
    pub(super) rotation: Rotation,
    pub(super) rate: f64,
    pub(super) locked: bool,
}

/// Reads a system file. `place` answers for bodies that a built-in system places by table.
pub(super) fn read(
    text: &str,
    fallback_name: &str,
    plane: Mat3,
    place: &dyn Fn(&BodyDraft) -> Result<Placement, SystemError>,
) -> Result<Inner, SystemError> {
    let document = DeTable::parse(text).map_err(|error| {
        let problem = Problem::Toml { message: error.message().to_string() };
        match error.span() {
            Some(span) => SystemError::at(span, problem),
            None => SystemError::nowhere(problem),
        }
    })?;
    // The table of a whole document spans all of it; what is missing is best shown at its beginning.
    let fields = Fields::open("the system".into(), 0..0, document.get_ref(), &["name", "epoch", "body"])?;
    let name = fields.text("name", "velm")?.map_or_else(|| fallback_name.to_string(), |name| name.value);
    let epoch = body_file::epoch(&fields, &fields.required_text("epoch", "2140-01-01T00:00:00 TDB")?)?;
    let tables = fields.list("body", "[[body]]")?.unwrap_or_default();
    if tables.len() > MOST_BODIES {
        let problem = Problem::TooManyBodies { count: tables.len(), most: MOST_BODIES };
        return Err(SystemError::at(tables[MOST_BODIES].span(), problem));
    }
    let mut drafts = Vec::with_capacity(tables.len());
    for (index, value) in tables.iter().enumerate() {
        let DeValue::Table(table) = value.get_ref() else {
            return Err(fields.wrong_kind("body", value, "a list of tables", "[[body]]"));
        };
        drafts.push(body_file::read(table, value.span(), index + 1)?);
    }
    let (order, parents) = tree_order(&drafts)?;
    let mut assembly = Assembly { bodies: Vec::with_capacity(drafts.len()), warnings: Vec::new(), epoch, plane };
    let mut seat = vec![0; drafts.len()];
    for index in order {
        let placed = place(&drafts[index])?;
        let parent = parents[index].map(|parent| seat[parent]);
        seat[index] = assembly.bodies.len();
        assembly.add(&drafts[index], parent, placed)?;
    }
    Ok(Inner {
        name,
        epoch,
        span: None,
        counts_utc: false,
        plane,
        bodies: assembly.bodies,
        warnings: assembly.warnings,
        identity: (text.to_string(), String::new()),
    })
}

/// The order of the tree (each body right after its parent's earlier children, as in the file), and each body's parent.
fn tree_order(drafts: &[BodyDraft]) -> Result<(Vec<usize>, Vec<Option<usize>>), SystemError> {
    if drafts.is_empty() {
        return Err(SystemError::nowhere(Problem::NoBodies));
    }
    let mut names = std::collections::BTreeMap::new();
    for (index, draft) in drafts.iter().enumerate() {
        if names.insert(draft.name.value.as_str(), index).is_some() {
            let problem = Problem::DuplicateName { name: draft.name.value.clone() };
            return Err(SystemError::at(draft.name.span.clone(), problem));
        }
    }
    let mut parents = Vec::with_capacity(drafts.len());
    for draft in drafts {
        let Some(parent) = &draft.parent else {
            parents.push(None);
            continue;
        };
        let Some(index) = names.get(parent.value.as_str()) else {
            let others = names.keys().copied().filter(|name| *name != draft.name.value);
            return Err(SystemError::at(
                parent.span.clone(),
                Problem::UnknownParent {
                    body: draft.name.value.clone(),
                    parent: parent.value.clone(),
                    nearest: nearest(&parent.value, others),
                },
            ));
        };
        parents.push(Some(*index));
    }
    check_rings(drafts, &parents)?;
    let mut roots = (0..drafts.len()).filter(|index| parents[*index].is_none());
    let root = roots.next().ok_or_else(|| SystemError::nowhere(Problem::NoRoot))?;
    if let Some(second) = roots.next() {
        let problem =
            Problem::TwoRoots { first: drafts[root].name.value.clone(), second: drafts[second].name.value.clone() };
        return Err(SystemError::at(drafts[second].name.span.clone(), problem));
    }
    let mut children = vec![Vec::new(); drafts.len()];
    for (index, parent) in parents.iter().enumerate() {
        if let Some(parent) = parent {
            children[*parent].push(index);
        }
    }
    let mut order = Vec::with_capacity(drafts.len());
    let mut waiting = vec![root];
    while let Some(next) = waiting.pop() {
        order.push(next);
        waiting.extend(children[next].iter().rev());
    }
    Ok((order, parents))
}

/// Refuses bodies that go round each other without a root among them.
fn check_rings(drafts: &[BodyDraft], parents: &[Option<usize>]) -> Result<(), SystemError> {
    // 0: not looked at, 1: on the way up from the present start, 2: known to lead to a root.
    let mut marks = vec![0_u8; drafts.len()];
    for start in 0..drafts.len() {
        let mut way = Vec::new();
        let mut at = Some(start);
        while let Some(index) = at {
            if marks[index] == 2 {
                break;
            }
            if marks[index] == 1 {
                let first = way.iter().position(|seen| *seen == index).unwrap_or(0);
                let bodies = way[first..].iter().map(|seen: &usize| drafts[*seen].name.value.clone()).collect();
                let span =
                    drafts[index].parent.as_ref().map_or(drafts[index].span.clone(), |parent| parent.span.clone());
                return Err(SystemError::at(span, Problem::ParentCycle { bodies }));
            }
            marks[index] = 1;
            way.push(index);
            at = parents[index];
        }
        for index in way {
            marks[index] = 2;
        }
    }
    Ok(())
}

struct Assembly {
    bodies: Vec<BodyData>,
    warnings: Vec<String>,
    epoch: Epoch,
    plane: Mat3,
}

impl Assembly {
    fn add(&mut self, draft: &BodyDraft, parent: Option<usize>, placed: Placement) -> Result<(), SystemError> {
        let mut motion = match placed.motion {
            Some(motion) => motion,
            None => self.motion(draft, parent)?,
        };
        if let Some((source, accuracy)) = placed.words {
            (motion.source, motion.accuracy) = (source, accuracy);
        }
        let turning = match placed.turning {
            Some(turning) => turning,
            None => self.turning(draft, &motion.path)?,
        };
        let gm_system = draft.gm_system.unwrap_or(draft.gm);
        let (mut sphere, mut hill) = (f64::INFINITY, f64::INFINITY);
        if let (Some(parent), Some((a, e))) = (parent, motion.size) {
            let ratio = gm_system / self.bodies[parent].gm;
            sphere = a * ratio.powf(0.4);
            hill = a * (1.0 - e) * (ratio / 3.0).cbrt();
        }
        let gravity = draft.gm / (draft.radius * draft.radius);
        let air = draft.air.as_ref().map(|air| Air::new((draft.gm, draft.radius), air.gas, air.model.clone()));
        let shore =
            Shore { air_pressure: air.as_ref().map_or(0.0, Air::surface_pressure), gravity, radius: draft.radius };
        let sea = sea_file::built(&draft.name.value, draft.sea.as_ref(), shore)?;
        let body = BodyData {
            name: draft.name.value.clone(),
            about: draft.about.clone(),
            parent,
            children: Vec::new(),
            gm: draft.gm,
            gm_system,
            radius: draft.radius,
            intermediate_radius: draft.intermediate_radius.unwrap_or(draft.radius),
            polar_radius: draft.polar_radius.unwrap_or(draft.radius),
            mean_radius: draft.mean_radius,
            luminosity: draft.luminosity,
            harmonics: draft.harmonics.clone(),
            path: motion.path,
            size: motion.size,
            rotation: turning.rotation,
            rate: turning.rate,
            locked: turning.locked,
            sphere_of_influence: sphere,
            hill_radius: hill,
            air,
            sea,
            ring: draft.ring,
            source: motion.source,
            accuracy: motion.accuracy,
        };
        self.warn(&body);
        if let Some(parent) = parent {
            let index = self.bodies.len();
            self.bodies[parent].children.push(index);
        }
        self.bodies.push(body);
        Ok(())
    }

    fn warn(&mut self, body: &BodyData) {
        if body.sphere_of_influence < body.radius {
            self.warnings.push(format!(
                "the sphere of influence of `{}` ({:.1} km) lies below its own ground ({:.1} km): nothing can orbit it",
                body.name,
                body.sphere_of_influence / 1e3,
                body.radius / 1e3
            ));
        }
        if let (Some(parent), Some((a, e))) = (body.parent, body.size) {
            let parent = &self.bodies[parent];
            if a * (1.0 + e) > parent.sphere_of_influence {
                self.warnings.push(format!(
                    "the orbit of `{}` reaches {:.0} km, outside the sphere of influence of `{}` ({:.0} km)",
                    body.name,
                    a * (1.0 + e) / 1e3,
                    parent.name,
                    parent.sphere_of_influence / 1e3
                ));
            }
        }
    }

    /// The orbit that the file itself describes.
    fn motion(&self, draft: &BodyDraft, parent: Option<usize>) -> Result<Motion, SystemError> {
        let (path, size) = match (parent, &draft.orbit) {
            (None, None) => (Path::Root, None),
            (Some(parent), Some(orbit)) => {
                (self.path(draft, &self.bodies[parent], orbit)?, Some((orbit.semi_major_axis, orbit.eccentricity)))
            }
            (Some(_), None) => {
                let problem = Problem::NoOrbit { body: draft.name.value.clone() };
                return Err(SystemError::at(draft.name.span.clone(), problem));
            }
            (None, Some(orbit)) => {
                let problem = Problem::RootWithOrbit { body: draft.name.value.clone() };
                return Err(SystemError::at(orbit.span.clone(), problem));
            }
        };
        let source = match &path {
            Path::Root => "the origin of the axes",
            Path::Mean(_) => "ellipse with steady rates, from the system file",
            _ => "fixed ellipse, from the system file",
        };
        let accuracy = "exact by definition".to_string();
        Ok(Motion { path, size, source: source.to_string(), accuracy })
    }

    fn path(&self, draft: &BodyDraft, parent: &BodyData, orbit: &OrbitDraft) -> Result<Path, SystemError> {
        let a = orbit.semi_major_axis;
        let least = a * (1.0 - orbit.eccentricity);
        if least <= parent.radius {
            return Err(SystemError::at(
                orbit.span.clone(),
                Problem::OrbitInsideParent {
                    body: draft.name.value.clone(),
                    parent: parent.name.clone(),
                    least: format!("{:.6} km", least / 1e3),
                    radius: format!("{:.6} km", parent.radius / 1e3),
                },
            ));
        }
        let epoch = orbit.epoch.unwrap_or(self.epoch).tdb_days();
        let frame = if orbit.equator_of_parent { parent.equator(self.epoch.tdb_days()) } else { self.plane };
        let motion = ((parent.gm + draft.gm) / a).sqrt() / a * DAY;
        if !motion.is_finite() || motion < 1e-15 {
            let owner = format!("`orbit` of body `{}`", draft.name.value);
            let problem = Problem::OutOfRange {
                owner,
                key: "semi_major_axis".into(),
                value: format!("{a:e} m"),
                needs: "small enough for the orbit to close within an age of the universe".into(),
            };
            return Err(SystemError::at(orbit.span.clone(), problem));
        }
        let [inclination, node, argument, anomaly] = orbit.angles;
        let drifts = orbit.rates.unwrap_or_default();
        let rate = |index: usize, otherwise: f64| drifts[index].map_or(otherwise, |rate| rate * DAY);
        let ellipse = MeanEllipse {
            epoch,
            frame,
            semi_major_axis: Drift { value: a, rate: 0.0 },
            eccentricity: Drift { value: orbit.eccentricity, rate: 0.0 },
            inclination: Drift { value: inclination, rate: 0.0 },
            ascending_node: Drift { value: node, rate: rate(0, 0.0) },
            argument_of_periapsis: Drift { value: argument, rate: rate(1, 0.0) },
            mean_anomaly: Drift { value: anomaly, rate: rate(2, motion) },
            longitudes: None,
            mean_anomaly_square: 0.0,
            waves: Vec::new(),
        };
        if orbit.rates.is_some() {
            return Ok(Path::Mean(Box::new(ellipse)));
        }
        let (_, p, q) = ellipse.orientation(epoch);
        Ok(Path::Fixed(Box::new(FixedEllipse {
            epoch,
            semi_major_axis: a,
            eccentricity: orbit.eccentricity,
            mean_anomaly: anomaly,
            mean_motion: motion,
            axes: (p, q),
        })))
    }

    fn turning(&self, draft: &BodyDraft, path: &Path) -> Result<Turning, SystemError> {
        let days: Days = self.epoch.tdb_days();
        Ok(match &draft.spin {
            Some(SpinDraft::Steady { period, right_ascension, declination, meridian }) => {
                let rate = TAU / period * DAY;
                let (right_ascension, declination, meridian) = (*right_ascension, *declination, *meridian);
                let rotation = Rotation::Steady { right_ascension, declination, meridian, rate, epoch: days };
                Turning { rotation, rate, locked: false }
            }
            Some(SpinDraft::Locked { span }) => {
                let rate = match path {
                    Path::Fixed(ellipse) => ellipse.mean_motion,
                    Path::Mean(ellipse) => {
                        ellipse.mean_anomaly.rate + ellipse.argument_of_periapsis.rate + ellipse.ascending_node.rate
                    }
                    _ => 0.0,
                };
                if period(rate).is_none() {
                    return Err(SystemError::at(
                        span.clone(),
                        Problem::Contradiction {
                            owner: format!("body `{}`", draft.name.value),
                            why: "it has no orbit that moves, so nothing locks its spin".into(),
                            instead: "give its period, pole and meridian".into(),
                        },
                    ));
                }
                Turning { rotation: Rotation::Locked, rate, locked: true }
            }
            None => {
                let pole = match path {
                    Path::Fixed(ellipse) => ellipse.axes.0.cross(&ellipse.axes.1),
                    Path::Mean(ellipse) => {
                        let (_, p, q) = ellipse.orientation(days);
                        p.cross(&q)
                    }
                    _ => Vec3::z(),
                };
                let (right_ascension, declination) = pole_angles(&pole);
                Turning { rotation: Rotation::Still { right_ascension, declination }, rate: 0.0, locked: false }
            }
        })
    }
}

impl BodyData {
    /// Equator axes as columns, inertial.
    pub(super) fn equator(&self, days: Days) -> Mat3 {
        let (right_ascension, declination, _) = self.rotation.angles(&self.path, days);
        equator(right_ascension, declination)
    }
}
