//! How much liquid to keep: enough that the hatch is not too high, little enough that the engines are not too low; and tanks to flood or vent as plan B.

use super::SeaFlightError;
use super::craft::FloatingCraft;
use super::floating::{Floating, Stance, Water};
use crate::numerics::root;

/// The bounds of what a tank, or several filled alike, may hold.
#[derive(Debug, Clone, PartialEq)]
pub struct Keep {
    /// Least mass with every point within its limits and the craft upright, kg; `None` where no mass does it.
    pub least: Option<f64>,
    /// Greatest mass, kg.
    pub greatest: Option<f64>,
    /// What the tanks hold when full, kg.
    pub capacity: f64,
    /// What keeps it from being less, where something does.
    pub too_light: Option<Limit>,
    /// What keeps it from being more.
    pub too_heavy: Option<Limit>,
}

/// What is passed first beyond a bound.
#[derive(Debug, Clone, PartialEq)]
pub enum Limit {
    /// A point is too high above the water.
    TooHigh(String),
    /// A point is too low.
    TooLow(String),
    /// The craft does not stay upright.
    Unstable,
    /// The craft sinks.
    Sinks,
}

impl std::fmt::Display for Limit {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::TooHigh(point) => write!(f, "`{point}` stands too high above the water"),
            Self::TooLow(point) => write!(f, "`{point}` lies too low"),
            Self::Unstable => f.write_str("it does not stay upright"),
            Self::Sinks => f.write_str("it sinks"),
        }
    }
}

/// What is done to a tank.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum TankDeed {
    /// Left as it is.
    Left,
    /// Emptied, into the air or the water.
    Vented,
    /// Filled with the water around.
    Flooded,
}

/// One way to bring a craft within its limits.
#[derive(Debug, Clone, PartialEq)]
pub struct Remedy {
    /// By tank, in the craft's order.
    pub deeds: Vec<TankDeed>,
    /// How it floats then.
    pub floating: Floating,
    /// Least margin of any point, m, after it.
    pub margin: f64,
}

/// By how much a floating craft is within its limits; the worst of the points' margins, the metacentric height, the reserve, as lengths in m.
fn margin(floating: &Floating) -> (f64, Option<Limit>) {
    if let Stance::Sinks { excess } = floating.stance {
        return (-excess / floating.immersion.max(1.0) - 1e3, Some(Limit::Sinks));
    }
    let mut worst = (floating.metacentric_height, Some(Limit::Unstable));
    for point in &floating.points {
        if point.margin < worst.0 {
            let name = point.name.clone();
            worst = (point.margin, Some(if point.upper { Limit::TooHigh(name) } else { Limit::TooLow(name) }));
        }
    }
    worst
}

impl FloatingCraft {
    /// Whether a floating craft is upright with every point within its limits; what is passed furthest where not.
    ///
    /// # Errors
    /// As [`FloatingCraft::float`].
    pub fn verdict(&self, water: &Water) -> Result<Option<Limit>, SeaFlightError> {
        let (by, limit) = margin(&self.float(water)?);
        Ok(if by >= 0.0 { None } else { limit })
    }

    /// The craft with tanks (by number) filled alike to a total mass in kg.
    fn filled(&self, tanks: &[usize], capacity: f64, mass: f64) -> Self {
        let mut craft = self.clone();
        for tank in tanks {
            let tank = &mut craft.tanks[*tank];
            tank.mass = (tank.capacity() * mass / capacity).min(tank.capacity());
        }
        craft
    }

    /// The mass in some tanks, filled alike, at which a point stands at a height above the water (m), kg; `None` where no filling does it.
    ///
    /// # Errors
    /// As [`FloatingCraft::float`]; a name that the craft has not.
    pub fn mass_for_height(
        &self,
        tanks: &[&str],
        point: &str,
        height: f64,
        water: &Water,
    ) -> Result<Option<f64>, SeaFlightError> {
        let (tanks, capacity) = self.chosen(tanks)?;
        self.point(point)?;
        let over = |mass: f64| {
            let floating = self.filled(&tanks, capacity, mass).float(water);
            floating.ok().and_then(|floating| floating.height_of(point)).map_or(f64::NAN, |found| found - height)
        };
        Ok(root::bracketed(over, 0.0, capacity, 1e-9 * capacity).ok())
    }

    fn chosen(&self, names: &[&str]) -> Result<(Vec<usize>, f64), SeaFlightError> {
        let tanks = names.iter().map(|name| self.tank(name)).collect::<Result<Vec<_>, _>>()?;
        let capacity: f64 = tanks.iter().map(|tank| self.tanks[*tank].capacity()).sum();
        if tanks.is_empty() {
            return Err(SeaFlightError::NoSuch { kind: "tank", name: String::new() });
        }
        Ok((tanks, capacity))
    }

    /// The least and greatest mass that some tanks, filled alike, may hold: with every point within its limits and the craft upright.
    ///
    /// The first stretch of fillings, from empty to full, in which all is well; looked for at 64 fillings and narrowed down at its ends. The limits are those
    /// of the points ([`super::craft::Point::limits`]): the hatch's upper one bounds the mass from below, the engines' lower one from above.
    ///
    /// # Errors
    /// As [`FloatingCraft::float`]; a name that the craft has not.
    pub fn keep(&self, tanks: &[&str], water: &Water) -> Result<Keep, SeaFlightError> {
        /// Fillings looked at.
        const LOOKS: usize = 64;
        let (tanks, capacity) = self.chosen(tanks)?;
        let at = |mass: f64| Ok::<_, SeaFlightError>(margin(&self.filled(&tanks, capacity, mass).float(water)?));
        let masses: Vec<f64> = (0..=LOOKS).map(|i| capacity * i as f64 / LOOKS as f64).collect();
        let found = masses.iter().map(|mass| at(*mass)).collect::<Result<Vec<_>, _>>()?;
        let Some(first) = found.iter().position(|(by, _)| *by >= 0.0) else {
            // Nothing is well: the filling that comes nearest tells what stands in the way.
            let best = found.iter().fold(&found[0], |best, next| if next.0 > best.0 { next } else { best });
            return Ok(Keep {
                least: None,
                greatest: None,
                capacity,
                too_light: best.1.clone(),
                too_heavy: best.1.clone(),
            });
        };
        let last = found[first..].iter().position(|(by, _)| *by < 0.0).map(|after| first + after);
        let edge = |low: usize, high: usize| {
            let by = |mass: f64| at(mass).map_or(f64::NAN, |(by, _)| by);
            root::bracketed(by, masses[low], masses[high], 1e-9 * capacity).unwrap_or(masses[high])
        };
        let (least, too_light) =
            if first == 0 { (0.0, None) } else { (edge(first - 1, first), found[first - 1].1.clone()) };
        let (greatest, too_heavy) = match last {
            None => (capacity, None),
            Some(last) => (edge(last - 1, last), found[last].1.clone()),
        };
        Ok(Keep { least: Some(least), greatest: Some(greatest), capacity, too_light, too_heavy })
    }

    /// Every way of flooding or venting whole tanks that brings the craft upright within its limits: the fewest deeds first, then the widest margin.
    ///
    /// # Errors
    /// As [`FloatingCraft::float`]; more than eight tanks.
    pub fn remedies(&self, water: &Water) -> Result<Vec<Remedy>, SeaFlightError> {
        /// Three to this power are looked at.
        const MOST: usize = 8;
        let tanks = self.tanks.len();
        if tanks > MOST {
            return Err(SeaFlightError::TooManyTanks { tanks, most: MOST });
        }
        let mut found = Vec::new();
        for number in 0..3_usize.pow(tanks as u32) {
            let (mut craft, mut rest) = (self.clone(), number);
            let mut deeds = Vec::with_capacity(tanks);
            for tank in &mut craft.tanks {
                let deed = [TankDeed::Left, TankDeed::Vented, TankDeed::Flooded][rest % 3];
                rest /= 3;
                match deed {
                    TankDeed::Left => {}
                    TankDeed::Vented => tank.mass = 0.0,
                    TankDeed::Flooded => {
                        tank.density = water.density;
                        tank.mass = tank.capacity();
                    }
                }
                deeds.push(deed);
            }
            let floating = craft.float(water)?;
            let (by, _) = margin(&floating);
            if by >= 0.0 {
                found.push(Remedy { deeds, floating, margin: by });
            }
        }
        let count = |remedy: &Remedy| remedy.deeds.iter().filter(|deed| **deed != TankDeed::Left).count();
        found.sort_by(|a, b| count(a).cmp(&count(b)).then(b.margin.total_cmp(&a.margin)));
        Ok(found)
    }
}

/// What a craft standing on a deck does first when the deck tilts.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DeckTilt {
    /// Tilt at which it slides, rad.
    pub slides: f64,
    /// Tilt at which it tips over its edge, rad.
    pub tips: f64,
}

impl DeckTilt {
    /// Of a craft on a deck: coefficient of friction at rest, half of the width of its footing (m), height of its centre of mass above the deck (m).
    ///
    /// It slides once the tangent of the tilt passes the friction, and tips once the centre of mass stands over the edge of the footing.
    ///
    /// # Errors
    /// A figure below zero, or none.
    ///
    /// # Source
    /// Coulomb's law; statics of a block on an incline (common practice, no source).
    pub fn of(friction: f64, half_footing: f64, height: f64) -> Result<Self, SeaFlightError> {
        let figures = [
            ("the coefficient of friction", friction),
            ("half of the footing in m", half_footing),
            ("the height of the centre of mass in m", height),
        ];
        for (what, value) in figures {
            if !(value >= 0.0 && value.is_finite()) {
                return Err(SeaFlightError::Figure { what, value, needs: "zero or more" });
            }
        }
        Ok(Self { slides: friction.atan(), tips: half_footing.atan2(height) })
    }

    /// The tilt at which it is lost, rad.
    pub fn lost(&self) -> f64 {
        self.slides.min(self.tips)
    }
}
