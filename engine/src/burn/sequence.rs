//! The closed forms as burns on an orbit: where each one is burnt, when, and the orbit that comes of it.

use super::departure::departure;
use super::error::positive;
use super::hohmann::apse_speed;
use super::{Burn, BurnError, phasing, plane};
use crate::orbit::{Event, Orbit};
use crate::vector::Vec3;

/// Below this eccentricity an orbit counts as a circle: any place on it is an apse, the burn is here and now.
const ROUND: f64 = 1e-6;

/// Burns one after the other on an orbit.
#[derive(Clone, Debug, PartialEq)]
pub struct Sequence {
    /// In the order in which they are burnt, each planned.
    pub burns: Vec<Burn>,
    /// The orbit after the last one, at its epoch.
    pub after: Orbit,
}

impl Sequence {
    fn begin(orbit: &Orbit) -> Self {
        Self { burns: Vec::new(), after: orbit.clone() }
    }

    /// Burns here, m/s in inertial axes.
    fn burn(mut self, dv: Vec3, label: &str) -> Result<Self, BurnError> {
        let before = &self.after;
        let burn = Burn::planned(before.body(), before.epoch(), *before.state(), dv)?.labelled(label);
        self.after = before.after_impulse(dv)?;
        self.burns.push(burn);
        Ok(self)
    }

    /// Burns along the motion until the speed is this, m/s.
    fn speed(self, speed: f64, label: &str) -> Result<Self, BurnError> {
        let state = *self.after.state();
        self.burn(state.velocity * (speed / state.speed() - 1.0), label)
    }

    /// Coasts over half a revolution, to the other apse.
    fn half_a_revolution(mut self) -> Result<Self, BurnError> {
        self.after = self.after.after(0.5 * period(&self.after)?)?;
        Ok(self)
    }

    /// Sum of the sizes of the burns, m/s.
    pub fn dv(&self) -> f64 {
        self.burns.iter().map(Burn::size).sum()
    }

    /// From the first burn to the last, s.
    pub fn time(&self) -> f64 {
        let epoch = |burn: Option<&Burn>| burn.and_then(|burn| burn.plan.as_ref()).map(|plan| plan.epoch);
        match (epoch(self.burns.first()), epoch(self.burns.last())) {
            (Some(first), Some(last)) => last.seconds_since(first),
            _ => 0.0,
        }
    }
}

fn period(orbit: &Orbit) -> Result<f64, BurnError> {
    orbit.period().ok_or(BurnError::Open { energy_m2_s2: orbit.energy() })
}

/// The places where a transfer in the plane may begin: here on a circle, else the next periapsis and the next apoapsis.
fn starts(orbit: &Orbit) -> Result<Vec<Orbit>, BurnError> {
    period(orbit)?;
    let elements = orbit.elements()?;
    if elements.eccentricity <= ROUND {
        return Ok(vec![orbit.clone()]);
    }
    Ok(vec![orbit.next(Event::Periapsis)?, orbit.next(Event::Apoapsis)?])
}

fn cheapest(sequences: Vec<Sequence>, orbit: &Orbit) -> Result<Sequence, BurnError> {
    let best = sequences.into_iter().min_by(|a, b| a.dv().total_cmp(&b.dv()));
    best.ok_or(BurnError::Open { energy_m2_s2: orbit.energy() })
}

/// Hohmann transfer to the circle of `radius` (m) in the orbit's own plane: from where the craft is on a circle, else from
/// the apse from which it is cheaper.
///
/// # Errors
/// An open orbit; a radius not above zero.
///
/// # Source
/// [Battin1999], section 11.3; [Curtis2014], section 6.3.
pub fn hohmann(orbit: &Orbit, radius: f64) -> Result<Sequence, BurnError> {
    positive("the radius, m,", radius)?;
    let gm = orbit.gm();
    let from = |start: Orbit| -> Result<Sequence, BurnError> {
        let here = start.radius();
        Sequence::begin(&start)
            .speed(apse_speed(gm, here, radius), "onto the transfer ellipse")?
            .half_a_revolution()?
            .speed(apse_speed(gm, radius, radius), "onto the circle")
    };
    cheapest(starts(orbit)?.into_iter().map(from).collect::<Result<_, _>>()?, orbit)
}

/// Bi-elliptic transfer to the circle of `radius` through an apse at `far` (m), in the orbit's own plane; begun as [`hohmann`].
///
/// # Errors
/// As [`hohmann`].
///
/// # Source
/// [Vallado2013], section 6.3.2; [Battin1999], section 11.3.
pub fn bi_elliptic(orbit: &Orbit, far: f64, radius: f64) -> Result<Sequence, BurnError> {
    positive("the radius, m,", radius)?;
    positive("the far radius, m,", far)?;
    let gm = orbit.gm();
    let from = |start: Orbit| -> Result<Sequence, BurnError> {
        let here = start.radius();
        Sequence::begin(&start)
            .speed(apse_speed(gm, here, far), "out to the far apse")?
            .half_a_revolution()?
            .speed(apse_speed(gm, far, radius), "over to the new radius")?
            .half_a_revolution()?
            .speed(apse_speed(gm, radius, radius), "onto the circle")
    };
    cheapest(starts(orbit)?.into_iter().map(from).collect::<Result<_, _>>()?, orbit)
}

/// Turns the orbit into the plane with a `normal` (any length, inertial), at the node where that is cheaper.
///
/// # Errors
/// As [`plane::at_nodes`].
pub fn change_plane(orbit: &Orbit, normal: &Vec3) -> Result<Sequence, BurnError> {
    let changes = plane::at_nodes(orbit.gm(), orbit.state(), normal)?;
    let first = changes.first().ok_or(BurnError::NoDirection { what: "the normal of the wanted plane" })?;
    Sequence::begin(&orbit.after(first.wait)?).burn(first.dv, "into the new plane")
}

/// The normal (inertial) of the plane with an inclination and a node (rad), counted where the body's orbits are; the node
/// of the orbit itself when it is `None`.
///
/// # Errors
/// A straight orbit.
pub fn normal_of(orbit: &Orbit, inclination: f64, ascending_node: Option<f64>) -> Result<Vec3, BurnError> {
    let node = match ascending_node {
        Some(node) => node,
        None => orbit.elements()?.ascending_node,
    };
    let (sine, cosine) = inclination.sin_cos();
    Ok(orbit.body().orbit_plane() * Vec3::new(sine * node.sin(), -sine * node.cos(), cosine))
}

/// Meets, after whole `revolutions`, a target that passes here `ahead` seconds earlier: a burn here and now, and the opposite
/// one at its end.
///
/// # Errors
/// As [`phasing::at_state`].
pub fn phase(orbit: &Orbit, ahead: f64, revolutions: u32) -> Result<Sequence, BurnError> {
    let plan = phasing::at_state(orbit.gm(), orbit.state(), ahead, revolutions)?;
    let direction = orbit.state().velocity / orbit.speed();
    let mut sequence = Sequence::begin(orbit).burn(direction * plan.dv1, "onto the phasing orbit")?;
    sequence.after = sequence.after.after(plan.time)?;
    let speed = orbit.speed();
    sequence.speed(speed, "back onto the orbit")
}

/// The cheapest single burn from a closed orbit onto the hyperbola that leaves with `v_infinity` (m/s, inertial), which must
/// not pass lower than the body's equatorial radius.
///
/// # Errors
/// As [`departure()`](super::departure::departure).
pub fn depart(orbit: &Orbit, v_infinity: &Vec3) -> Result<Sequence, BurnError> {
    let found = departure(orbit.gm(), orbit.state(), v_infinity, orbit.body().radius())?;
    Sequence::begin(&orbit.after(found.wait)?).burn(found.dv, "onto the departure hyperbola")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::system::{EphemerisChoice, System};

    fn low() -> Orbit {
        let system = System::embedded("velm", EphemerisChoice::Default).expect("the embedded system is sound");
        let veyra = system.body("Veyra").expect("Veyra");
        Orbit::circular(&veyra, 2e5, system.epoch()).expect("an orbit")
    }

    #[test]
    fn burns_flown_one_after_the_other_reach_the_circle() {
        let orbit = low();
        let radius = 2.5 * orbit.radius();
        let plan = hohmann(&orbit, radius).expect("a plan");
        let closed = super::super::hohmann::circular(orbit.gm(), orbit.radius(), radius).expect("a transfer");
        // Both count the same formula; the coast between adds the rounding of a propagation.
        assert!((plan.dv() - closed.dv()).abs() < 1e-9 * closed.dv());
        assert!((plan.time() - closed.time).abs() < 2e-9 + 1e-12 * closed.time);
        let flown = plan.burns.iter().try_fold(orbit, |orbit, burn| burn.flown_on(&orbit)).expect("flown");
        assert!((flown.periapsis_radius() / radius - 1.0).abs() < 1e-9);
        assert!(flown.elements().expect("elements").eccentricity < 1e-9);
    }

    #[test]
    fn phasing_comes_back_to_the_same_orbit() {
        let orbit = low();
        let plan = phase(&orbit, 600.0, 4).expect("a plan");
        assert!((plan.after.period().expect("an ellipse") / orbit.period().expect("an ellipse") - 1.0).abs() < 1e-9);
        // The target leads by 600 s and meets the craft here: four own revolutions less 600 s.
        let expected = 4.0 * orbit.period().expect("an ellipse") - 600.0;
        assert!((plan.time() - expected).abs() < 1e-6);
        assert!(plan.burns[0].along < 0.0);
    }

    #[test]
    fn departure_leaves_with_the_wanted_velocity() {
        let wanted = Vec3::new(2000.0, 1500.0, 300.0);
        let plan = depart(&low(), &wanted).expect("a plan");
        let found = plan.after.outgoing().expect("a hyperbola").v_infinity;
        assert!((found - wanted).norm() < 1e-8 * wanted.norm());
    }

    #[test]
    fn plane_change_ends_in_the_plane() {
        let orbit = low();
        let normal = normal_of(&orbit, 0.4, Some(1.0)).expect("a normal");
        let plan = change_plane(&orbit, &normal).expect("a plan");
        let elements = plan.after.elements().expect("elements");
        assert!((elements.inclination - 0.4).abs() < 1e-10 && (elements.ascending_node - 1.0).abs() < 1e-9);
    }
}
