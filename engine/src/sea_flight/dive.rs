//! A dive as a whole: down, contact, stay, ballast dropped, up, surfacing, with every limit that was passed and by how much.
//!
//! Figures for study and rehearsal: diving and pressure work follow licensed practice and local codes.

use super::SeaFlightError;
use super::dive_leg::{Course, DiveLeg, Ended, fly};
use super::diver::Diver;
use crate::numerics::watch::Watch;
use crate::system::Sea;

/// The hull above, that the diver must not hit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Parent {
    /// Half of its greatest width, m.
    pub half_width: f64,
    /// Whether it drifts with the current at the surface; else it stays over the place of release.
    pub drifts: bool,
    /// Free water between the two that is wanted, m.
    pub clearance: f64,
}

/// What a dive is meant to be.
#[derive(Debug, Clone, PartialEq)]
pub struct DivePlan {
    /// Depth of the release, m.
    pub from: f64,
    /// Depth of the floor, m.
    pub floor: f64,
    /// On the floor, s.
    pub stay: f64,
    /// Taken aboard on the floor, kg, within the hull.
    pub collected: f64,
    /// Lean of the axis from the vertical while sinking and while rising, rad.
    pub tilt: (f64, f64),
    /// Thrust up while sinking and while rising, N.
    pub thrust: (f64, f64),
    /// Depth in m and speed of the current forward in m/s, rising by depth. Empty: still water.
    pub current: Vec<(f64, f64)>,
    /// Whether the ballast is dropped before rising.
    pub drop_ballast: bool,
    /// The hull above, where there is one.
    pub parent: Option<Parent>,
    /// Longest time for each way, s.
    pub longest: f64,
}

impl DivePlan {
    /// From the surface to a floor (m) for a stay (s), straight down and up in still water, within 30 days each way.
    pub fn to(floor: f64, stay: f64) -> Self {
        Self {
            from: 0.0,
            floor,
            stay,
            collected: 0.0,
            tilt: (0.0, 0.0),
            thrust: (0.0, 0.0),
            current: Vec::new(),
            drop_ballast: true,
            parent: None,
            longest: 30.0 * 86_400.0,
        }
    }
}

/// Something that happens on a dive.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum DiveEvent {
    /// Let go.
    Released,
    /// Touches the floor.
    Contact,
    /// Leaves the floor.
    Leaves,
    /// Is back at the surface.
    Surfaced,
    /// Passes the pressure that its hull is rated for.
    RatedPressure,
    /// Its battery is empty.
    BatteryEmpty,
    /// Hangs where it neither sinks nor rises.
    Hangs,
}

/// A limit that was passed. A result, not an error.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum DiveLimit {
    /// The hull bears less than the pressure met.
    HullPressure {
        /// Greatest met, Pa, the air's included.
        pressure: f64,
        /// Pa.
        rated: f64,
        /// Depth at which the rating is passed, m.
        depth: f64,
    },
    /// The legs bear less than the speed of contact.
    Contact {
        /// m/s.
        speed: f64,
        /// m/s.
        rated: f64,
    },
    /// The battery holds less than the dive takes.
    Battery {
        /// J.
        needed: f64,
        /// J.
        holds: f64,
    },
    /// It comes up too near to the hull above.
    Clearance {
        /// Free water between the two, m; below zero it hits.
        free: f64,
        /// m.
        wanted: f64,
    },
    /// It does not sink.
    TooLight {
        /// By so many kg.
        lacks: f64,
    },
    /// It does not rise.
    TooHeavy {
        /// By so many kg.
        excess: f64,
    },
    /// It hangs between surface and floor.
    Hangs {
        /// m.
        depth: f64,
    },
    /// It does not arrive within the longest time.
    TimeOver {
        /// Where it is then, m.
        depth: f64,
    },
}

impl std::fmt::Display for DiveLimit {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::HullPressure { pressure, rated, depth } => write!(
                f,
                "the hull meets {:.2} MPa and is rated for {:.2} MPa, which it passes at {depth:.0} m",
                pressure / 1e6,
                rated / 1e6
            ),
            Self::Contact { speed, rated } => {
                write!(f, "contact at {speed:.2} m/s; the legs are rated for {rated:.2} m/s")
            }
            Self::Battery { needed, holds } => {
                write!(f, "the dive takes {:.2} kWh; the battery holds {:.2} kWh", needed / 3.6e6, holds / 3.6e6)
            }
            Self::Clearance { free, wanted } => {
                write!(f, "{free:.1} m of free water beside the hull above, where {wanted:.1} m are wanted")
            }
            Self::TooLight { lacks } => write!(f, "it does not sink: {lacks:.1} kg too light"),
            Self::TooHeavy { excess } => write!(f, "it does not rise: {excess:.1} kg too heavy"),
            Self::Hangs { depth } => write!(f, "it hangs at {depth:.0} m, where it neither sinks nor rises"),
            Self::TimeOver { depth } => write!(f, "its time is over at {depth:.0} m"),
        }
    }
}

/// What the floor feels of the diver.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Contact {
    /// Down, m/s.
    pub speed: f64,
    /// Forward over the floor, m/s.
    pub sideways: f64,
    /// Kinetic energy with the water moved along, J: what the legs take besides the net weight over their stroke.
    pub energy: f64,
    /// Weight less buoyancy on the floor, N.
    pub net_weight: f64,
    /// Pressure on the hull, Pa, the air's included.
    pub pressure: f64,
}

/// A dive as it went.
#[derive(Debug, Clone, PartialEq)]
pub struct Dived {
    /// The way down.
    pub down: DiveLeg,
    /// On the floor; `None` where it did not get there.
    pub contact: Option<Contact>,
    /// The way up, begun after the stay.
    pub up: Option<DiveLeg>,
    /// Up, m/s, at the surface; `None` where it did not get there.
    pub surfacing_speed: Option<f64>,
    /// Free water between the diver and the hull above when it surfaces, m.
    pub clearance: Option<f64>,
    /// Greatest pressure on the hull, Pa, the air's included.
    pub greatest_pressure: f64,
    /// From release to surfacing, or as far as it went, s.
    pub duration: f64,
    /// Taken from the battery, J.
    pub energy: f64,
    /// What happened: when (s after the release), at what depth (m).
    pub events: Vec<(f64, f64, DiveEvent)>,
    /// What was passed.
    pub limits: Vec<DiveLimit>,
}

impl Dived {
    /// Whether it came back with every limit kept.
    pub fn is_sound(&self) -> bool {
        self.surfacing_speed.is_some() && self.limits.is_empty()
    }
}

/// What of a limit the end of a way tells; `sign` is 1 on the way down.
fn limit_of(leg: &DiveLeg, sign: f64) -> Option<DiveLimit> {
    match leg.ended {
        Ended::There => None,
        Ended::Hangs { depth } => Some(DiveLimit::Hangs { depth }),
        Ended::WrongWay { net } if sign > 0.0 => Some(DiveLimit::TooLight { lacks: -net }),
        Ended::WrongWay { net } => Some(DiveLimit::TooHeavy { excess: net }),
        Ended::TimeOver => Some(DiveLimit::TimeOver { depth: leg.end.depth }),
    }
}

/// Flies a dive.
///
/// The way down begins at rest in the water; the way up begins at rest on the floor. A limit passed is noted and the dive goes on, but for a diver that
/// does not arrive.
///
/// # Errors
/// Figures that are none, a floor outside of the sea's depths, an interruption.
///
/// # Source
/// `dive_leg`; battery and pressures by addition.
pub fn dive(diver: &Diver, sea: &Sea, plan: &DivePlan, watch: &Watch<'_>) -> Result<Dived, SeaFlightError> {
    let others = [("the stay in s", plan.stay), ("what is collected in kg", plan.collected)];
    for (what, value) in others {
        if !(value >= 0.0 && value.is_finite()) {
            return Err(SeaFlightError::Figure { what, value, needs: "zero or more" });
        }
    }
    if !(plan.floor > plan.from) {
        let to_m = sea.depth().1;
        return Err(SeaFlightError::Depth { depth_m: plan.floor, from_m: plan.from, to_m });
    }
    let flow = |depth: f64| speed_at(&plan.current, depth);
    let course = Course {
        from: plan.from,
        to: plan.floor,
        tilt: plan.tilt.0,
        thrust: plan.thrust.0,
        current: plan.current.clone(),
        with_ballast: true,
        velocity: [0.0, flow(plan.from)],
        offset: 0.0,
        start: 0.0,
        longest: plan.longest,
    };
    let down = fly(diver, sea, &course, watch)?;
    let mut limits: Vec<DiveLimit> = limit_of(&down, 1.0).into_iter().collect();
    let mut events = vec![(0.0, plan.from, DiveEvent::Released)];
    let deepest = down.end.depth.max(plan.from);
    let pressed = |depth: f64| sea.pressure(depth) + sea.air_pressure();
    if let Some(rated) = diver.rated_pressure.filter(|rated| pressed(deepest) > *rated) {
        let depth = sea.depth_at((rated - sea.air_pressure()).max(0.0)).unwrap_or(deepest);
        limits.push(DiveLimit::HullPressure { pressure: pressed(deepest), rated, depth });
        if let Some(time) = down.time_at(depth) {
            events.push((time, depth, DiveEvent::RatedPressure));
        }
    }
    let mut dived = Dived {
        contact: None,
        up: None,
        surfacing_speed: None,
        clearance: None,
        greatest_pressure: pressed(deepest),
        duration: down.duration(),
        energy: 0.0,
        events,
        limits,
        down,
    };
    if dived.down.ended == Ended::There {
        dived.rise(diver, sea, plan, watch)?;
    } else if let Ended::Hangs { depth } = dived.down.ended {
        dived.events.push((dived.down.end.time, depth, DiveEvent::Hangs));
    }
    dived.energy = diver.power * dived.duration;
    if let Some(holds) = diver.battery.filter(|holds| dived.energy > *holds) {
        dived.limits.push(DiveLimit::Battery { needed: dived.energy, holds });
        let time = holds / diver.power;
        let depth = match &dived.up {
            Some(up) if time > up.start.time => up.at(time).depth,
            _ => dived.down.at(time).depth,
        };
        dived.events.push((time, depth, DiveEvent::BatteryEmpty));
    }
    dived.events.sort_by(|a, b| a.0.total_cmp(&b.0));
    Ok(dived)
}

/// Speed of the current at a depth.
fn speed_at(rows: &[(f64, f64)], depth: f64) -> f64 {
    let (Some(first), Some(last)) = (rows.first(), rows.last()) else { return 0.0 };
    if depth <= first.0 {
        return first.1;
    }
    let next = rows.partition_point(|row| row.0 <= depth);
    let Some(below) = rows.get(next) else { return last.1 };
    let above = rows[next - 1];
    above.1 + (below.1 - above.1) * (depth - above.0) / (below.0 - above.0)
}

impl Dived {
    /// From the contact on.
    fn rise(&mut self, diver: &Diver, sea: &Sea, plan: &DivePlan, watch: &Watch<'_>) -> Result<(), SeaFlightError> {
        let end = self.down.end;
        let displaced = sea.density(end.depth) * diver.displaced(sea.pressure(end.depth), true);
        let moved = diver.laden(true) + diver.along.added_mass * displaced;
        let contact = Contact {
            speed: end.sinking,
            sideways: end.drifting,
            energy: 0.5 * moved * (end.sinking * end.sinking + end.drifting * end.drifting),
            net_weight: diver.net_weight(sea, end.depth, true),
            pressure: sea.pressure(end.depth) + sea.air_pressure(),
        };
        self.events.push((end.time, end.depth, DiveEvent::Contact));
        if let Some(rated) = diver.rated_contact.filter(|rated| contact.speed > *rated) {
            self.limits.push(DiveLimit::Contact { speed: contact.speed, rated });
        }
        self.contact = Some(contact);
        let mut laden = diver.clone();
        laden.mass += plan.collected;
        let start = end.time + plan.stay;
        self.events.push((start, end.depth, DiveEvent::Leaves));
        let course = Course {
            from: plan.floor,
            to: (0.5 * diver.height).min(0.99 * plan.floor),
            tilt: plan.tilt.1,
            thrust: plan.thrust.1,
            current: plan.current.clone(),
            with_ballast: !plan.drop_ballast,
            velocity: [0.0, 0.0],
            offset: end.offset,
            start,
            longest: plan.longest,
        };
        let up = fly(&laden, sea, &course, watch)?;
        self.duration = up.end.time;
        match up.ended {
            Ended::There => {
                self.surfacing_speed = Some(-up.end.sinking);
                self.events.push((up.end.time, up.end.depth, DiveEvent::Surfaced));
            }
            Ended::Hangs { depth } => self.events.push((up.end.time, depth, DiveEvent::Hangs)),
            Ended::WrongWay { .. } | Ended::TimeOver => {}
        }
        self.limits.extend(limit_of(&up, -1.0));
        if let (Some(parent), Ended::There) = (plan.parent, up.ended) {
            let over = if parent.drifts { speed_at(&plan.current, 0.0) * up.end.time } else { 0.0 };
            let free = (up.end.offset - over).abs() - parent.half_width - diver.half_width;
            self.clearance = Some(free);
            if free < parent.clearance {
                self.limits.push(DiveLimit::Clearance { free, wanted: parent.clearance });
            }
        }
        self.up = Some(up);
        Ok(())
    }
}
