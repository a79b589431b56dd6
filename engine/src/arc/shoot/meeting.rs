//! Flying a coast to its target, and the asymptote of the approach there.

use super::ShootError;
use super::closest::{near, nearest, relative};
use crate::arc::lambert::{Branch, Way, solve_one};
use crate::conic::{Elements, State, hyperbola, time_since_periapsis};
use crate::motion::conics::next_patch;
use crate::numerics::watch::Watch;
use crate::orbit::Orbit;
use crate::system::Body;
use crate::time::Epoch;
use crate::vector::Vec3;

/// How a coast comes to its target.
#[derive(Debug, Clone, PartialEq)]
pub struct Meeting {
    /// The target.
    pub body: Body,
    /// Time of periapsis: the closest approach on the parent's conic.
    pub epoch: Epoch,
    /// v-infinity, m/s, inertial.
    pub v_infinity: Vec3,
    /// B, m, inertial, ⊥ v-infinity.
    pub aim: Vec3,
    /// State relative to the target at that epoch, the target's own gravity left out, m and m/s.
    pub relative: State,
    /// Whether the target's sphere of influence is entered.
    pub inside: bool,
    /// Periapsis radius of the conic that the craft is on about the target, where it is about it before the burn, m.
    pub(super) bound_periapsis: Option<f64>,
    /// gm that the conic about the target counts with, m³/s².
    pub(super) gm: f64,
}

impl Meeting {
    /// Periapsis radius, m: r = √(a² + B²) − a with a = gm/v∞², written so that it keeps its digits.
    pub fn periapsis_radius(&self) -> f64 {
        if let Some(radius) = self.bound_periapsis {
            return radius;
        }
        let a = self.gm / self.v_infinity.norm_squared();
        let b = self.aim.norm_squared();
        b / ((a * a + b).sqrt() + a)
    }

    /// Inclination to the target's equator, rad.
    pub fn inclination(&self) -> f64 {
        let normal = match self.bound_periapsis {
            Some(_) => self.relative.position.cross(&self.relative.velocity),
            None => self.aim.cross(&self.v_infinity),
        };
        normal.angle(&self.body.pole(self.epoch))
    }

    /// B·T and B·R with k the target's pole, m; `None` where v-infinity runs along the pole.
    pub fn b_plane(&self) -> Option<(f64, f64)> {
        let (t, r) = self.axes(None).ok()?;
        Some((self.aim.dot(&t), self.aim.dot(&r)))
    }

    /// T and R: T = S × k, R = S × T, of unit length.
    pub(super) fn axes(&self, pole: Option<&Vec3>) -> Result<(Vec3, Vec3), ShootError> {
        let s = self.asymptote()?;
        let k = pole.copied().unwrap_or_else(|| self.body.pole(self.epoch));
        let across = s.cross(&k);
        // Along the pole T has no direction.
        let t = across
            .try_normalize(1e-9)
            .ok_or(ShootError::BadAim { what: "angle between v-infinity and k", value: across.norm() })?;
        Ok((t, s.cross(&t)))
    }

    fn asymptote(&self) -> Result<Vec3, ShootError> {
        self.v_infinity.try_normalize(0.0).ok_or_else(|| ShootError::Bound { body: self.body.name().to_owned() })
    }

    /// Size of B for a periapsis radius, m: r √(1 + 2 gm/(r v∞²)). [Battin1999], section 9.2.
    pub(super) fn aim_for(&self, radius: f64) -> f64 {
        radius * (1.0 + 2.0 * self.gm / (radius * self.v_infinity.norm_squared())).sqrt()
    }

    /// B·T and B·R for a periapsis radius and an inclination: cos i = cos θ cos δ with δ the declination of S and θ the
    /// angle of B from T towards R; of ±θ the one nearer to where B is.
    pub(super) fn point_for(&self, radius: f64, inclination: f64) -> Result<(f64, f64), ShootError> {
        let s = self.asymptote()?;
        let pole = self.body.pole(self.epoch);
        let (_, r) = self.axes(None)?;
        let cosine = inclination.cos() / s.cross(&pole).norm();
        // The least inclination is the declination itself; rounding may leave the cosine a hair above 1 there.
        if cosine.abs() > 1.0 + 1e-12 {
            return Err(ShootError::Inclination {
                asked_deg: inclination.to_degrees(),
                declination_deg: s.dot(&pole).clamp(-1.0, 1.0).asin().to_degrees(),
            });
        }
        let cosine = cosine.clamp(-1.0, 1.0);
        let sine = (1.0 - cosine * cosine).sqrt().copysign(self.aim.dot(&r));
        let size = self.aim_for(radius);
        Ok((size * cosine, size * sine))
    }
}

/// Where the flight stands when it has come as far as the target's own level, or as `until`.
enum Reach {
    /// On a conic about the target itself; the time of periapsis and asymptote came with the patch, if there was one.
    About(Orbit),
    /// On a conic about another body.
    Other(Orbit),
}

/// Fly with patches until the craft is about the target, or until an epoch; `before` keeps the conic about the parent.
fn fly(
    orbit: &Orbit,
    target: &Body,
    until: Epoch,
    leaving: Option<&Body>,
    enter: bool,
    watch: &Watch<'_>,
) -> Result<Reach, ShootError> {
    let mut now = orbit.clone();
    let mut leaving = leaving.cloned();
    loop {
        if now.body() == target {
            return Ok(Reach::About(now));
        }
        if now.epoch() >= until {
            return Ok(Reach::Other(now));
        }
        let Some(patch) = next_patch(&now, until, leaving.as_ref(), watch)? else { return Ok(Reach::Other(now)) };
        if !enter && patch.after.body() == target {
            return Ok(Reach::Other(now));
        }
        leaving = patch.leaving();
        now = patch.after;
    }
}

/// From a conic about any body up to one about an ancestor of `target`, by outgoing asymptotes.
fn climb(mut orbit: Orbit, target: &Body) -> Result<Orbit, ShootError> {
    let above = target.ancestors();
    while !above.contains(orbit.body()) {
        let body = orbit.body().clone();
        let (gm, state) = (orbit.gm(), orbit.state());
        let Some(parent) = body.parent() else {
            return Err(ShootError::NotReached { body: target.name().to_owned() });
        };
        let bound = || ShootError::Bound { body: body.name().to_owned() };
        let out = hyperbola::outgoing(gm, state).ok_or_else(bound)?;
        let periapsis = orbit.epoch().after(-time_since_periapsis(gm, state));
        let there = body.state(periapsis)?;
        let anchor = State { position: there.position + out.aim, velocity: there.velocity + out.v_infinity };
        orbit = Orbit::new(parent, periapsis, anchor)?;
    }
    Ok(orbit)
}

/// The hyperbola about a body with an incoming asymptote, at its periapsis.
fn onto_hyperbola(body: &Body, periapsis: Epoch, v_infinity: Vec3, aim: Vec3) -> Result<Orbit, ShootError> {
    let state = hyperbola::at_periapsis(body.gm(), v_infinity, aim)?;
    Ok(Orbit::new(body.clone(), periapsis, state)?)
}

/// The bodies to come down through from an ancestor of `target`: the ancestor's child first, `target` last.
fn downward(ancestor: &Body, target: &Body) -> Vec<Body> {
    let mut path = vec![target.clone()];
    for body in target.ancestors() {
        if body == *ancestor {
            break;
        }
        path.push(body);
    }
    path.reverse();
    path
}

/// How a coast comes to `target` about `expected`. Down the tree each closest approach is patched by its asymptote even
/// where it lies outside of the sphere, which is the same formula as inside: so the answer is smooth across the edge.
///
/// # Errors
/// No way to the target's level; a bound conic where an asymptote is needed; interruption.
pub fn meeting(
    orbit: &Orbit,
    target: &Body,
    expected: Epoch,
    leaving: Option<&Body>,
    watch: &Watch<'_>,
) -> Result<Meeting, ShootError> {
    if orbit.body() == target {
        return about(orbit, target);
    }
    // Not into the target's own sphere: the parent's conic tells the approach, inside and outside.
    // From a moon to the body it goes round there is no patch down to the target, only the one out to it.
    let rising = orbit.body().ancestors().contains(target);
    let mut now = match fly(orbit, target, expected, leaving, rising, watch)? {
        Reach::About(now) if rising => return about(&now, target),
        Reach::About(now) | Reach::Other(now) => climb(now, target)?,
    };
    for body in downward(now.body(), target) {
        let (time, state) = near(&now, &body, expected.seconds_since(now.epoch()))?;
        let epoch = now.epoch().after(time);
        let v_infinity = state.velocity;
        let speed = v_infinity.norm_squared();
        if speed == 0.0 {
            return Err(ShootError::Bound { body: body.name().to_owned() });
        }
        let aim = state.position - v_infinity * (state.position.dot(&v_infinity) / speed);
        if body == *target {
            let inside = state.position.norm() < body.sphere_of_influence();
            let gm = body.gm();
            return Ok(Meeting { body, epoch, v_infinity, aim, relative: state, inside, bound_periapsis: None, gm });
        }
        now = onto_hyperbola(&body, epoch, v_infinity, aim)?;
    }
    Err(ShootError::NotReached { body: target.name().to_owned() })
}

/// The approach of a craft that is about the target already: its own conic.
fn about(orbit: &Orbit, target: &Body) -> Result<Meeting, ShootError> {
    let (gm, state) = (orbit.gm(), orbit.state());
    let elements = Elements::from_state(gm, state)?;
    let incoming = hyperbola::incoming(gm, state);
    Ok(Meeting {
        body: target.clone(),
        epoch: orbit.epoch().after(-time_since_periapsis(gm, state)),
        v_infinity: incoming.as_ref().map_or_else(Vec3::zeros, |way| way.v_infinity),
        aim: incoming.as_ref().map_or_else(Vec3::zeros, |way| way.aim),
        relative: *state,
        inside: true,
        bound_periapsis: Some(elements.periapsis_radius()),
        gm,
    })
}

/// Where a coast is relative to `target` at an epoch, the target's own gravity left out.
///
/// # Errors
/// As [`meeting`].
pub(super) fn pass(
    orbit: &Orbit,
    target: &Body,
    epoch: Epoch,
    leaving: Option<&Body>,
    watch: &Watch<'_>,
) -> Result<Meeting, ShootError> {
    let mut now = match fly(orbit, target, epoch, leaving, false, watch)? {
        // About the target from the start: its own gravity cannot be left out, and its centre is no place to aim at.
        Reach::About(_) => return Err(ShootError::BadAim { what: "distance to the target's sphere", value: 0.0 }),
        Reach::Other(now) => climb(now, target)?,
    };
    for body in downward(now.body(), target) {
        if body == *target {
            let state = relative(&now, &body, epoch.seconds_since(now.epoch()))?;
            let v_infinity = state.velocity;
            let along = state.position.dot(&v_infinity) / v_infinity.norm_squared();
            let inside = state.position.norm() < body.sphere_of_influence();
            let gm = body.gm();
            let aim = if along.is_finite() { state.position - v_infinity * along } else { state.position };
            return Ok(Meeting { body, epoch, v_infinity, aim, relative: state, inside, bound_periapsis: None, gm });
        }
        let (time, state) = near(&now, &body, epoch.seconds_since(now.epoch()))?;
        let aim =
            state.position - state.velocity * (state.position.dot(&state.velocity) / state.velocity.norm_squared());
        now = onto_hyperbola(&body, now.epoch().after(time), state.velocity, aim)?;
    }
    Err(ShootError::NotReached { body: target.name().to_owned() })
}

/// Ten years, s: how far ahead an approach is looked for.
const HORIZON: f64 = 10.0 * 365.25 * 86_400.0;

/// When a coast without a burn is nearest to `target`: the first time it enters the sphere, else the nearest of all closest
/// approaches on the parent's conics within ten years.
///
/// # Errors
/// No approach at all; interruption.
pub fn expected(orbit: &Orbit, target: &Body, leaving: Option<&Body>, watch: &Watch<'_>) -> Result<Epoch, ShootError> {
    if orbit.body() == target {
        return Ok(about(orbit, target)?.epoch);
    }
    let horizon = orbit.epoch().after(HORIZON);
    let until = match target.system().span() {
        Some((_, end)) if end < horizon => end,
        _ => horizon,
    };
    let above = target.ancestors();
    let mut now = orbit.clone();
    let mut leaving = leaving.cloned();
    let mut best: Option<(f64, Epoch)> = None;
    loop {
        // A bound conic tells all within two turns against its target.
        let period = now.period().map_or(f64::INFINITY, |period| 2.0 * period);
        let stretch = until.seconds_since(now.epoch()).min(period);
        let patch = next_patch(&now, now.epoch().after(stretch), leaving.as_ref(), watch)?;
        let end = patch.as_ref().map_or(stretch, |patch| patch.epoch.seconds_since(now.epoch()));
        if let Some(patch) = &patch
            && patch.after.body() == target
        {
            return Ok(patch.periapsis);
        }
        if above.contains(now.body()) {
            let child = &downward(now.body(), target)[0];
            if let Some((time, state)) = nearest(&now, child, 0.0, end, watch)? {
                let part = state.position.norm() / child.sphere_of_influence();
                if best.is_none_or(|(least, _)| part < least) {
                    best = Some((part, now.epoch().after(time)));
                }
            }
        }
        match patch {
            Some(patch) => {
                leaving = patch.leaving();
                now = patch.after;
            }
            None => break,
        }
    }
    best.map(|(_, epoch)| epoch).ok_or_else(|| ShootError::NotReached { body: target.name().to_owned() })
}

/// Δv of the Lambert arc from an orbit to where `target` (or the body of its line that shares the parent) is at `expected`,
/// m/s; nothing where the orbit is not about an ancestor of the target, or where there is no such arc.
pub(super) fn lambert_start(orbit: &Orbit, target: &Body, expected: Epoch) -> Option<Vec3> {
    if !target.ancestors().contains(orbit.body()) {
        return None;
    }
    let child = downward(orbit.body(), target).into_iter().next()?;
    let there = child.state(expected).ok()?;
    let state = orbit.state();
    let normal = state.position.cross(&state.velocity);
    let time = expected.seconds_since(orbit.epoch());
    let way = Way::Prograde(normal);
    let arc = solve_one(orbit.gm(), &state.position, &there.position, time, way, 0, Branch::Single).ok()?;
    Some(arc.v1 - state.velocity)
}
