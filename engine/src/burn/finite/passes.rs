//! A burn split over several passes of the place where its impulse stands.

use super::error::FiniteError;
use super::solve::{FiniteBurn, Impulse, Law, solve};
use super::supply::Supply;
use crate::conic::{State, energy};
use crate::motion::force::Surroundings;
use crate::numerics::root;
use crate::numerics::watch::Watch;
use std::f64::consts::TAU;

/// More passes than these are a spiral, not a burn.
pub const MOST_PASSES: usize = 40;

/// Longest time between two passes, s: 20 days. Beyond, other bodies have the orbit.
pub const LONGEST_BETWEEN: f64 = 20.0 * crate::constants::DAY;

/// One of the burns.
#[derive(Clone, Debug, PartialEq)]
pub struct Pass {
    /// When its impulse stands, s from the whole burn's.
    pub time: f64,
    /// Time to the next pass, s; none after the last.
    pub period: Option<f64>,
    /// The burn, on its own clock.
    pub burn: FiniteBurn,
}

/// A burn split over passes, first to last.
#[derive(Clone, Debug, PartialEq)]
pub struct Passes {
    /// The burns.
    pub passes: Vec<Pass>,
    /// Size of the impulse that they stand for, m/s.
    pub impulse: f64,
}

impl Passes {
    /// Change of speed spent in all, m/s.
    pub fn dv(&self) -> f64 {
        self.passes.iter().map(|pass| pass.burn.dv).sum()
    }

    /// What they cost above the one impulse, m/s.
    pub fn loss(&self) -> f64 {
        self.dv() - self.impulse
    }

    /// Time of burning in all, s.
    pub fn burning(&self) -> f64 {
        self.passes.iter().map(|pass| pass.burn.duration).sum()
    }

    /// From the first ignition to the last cut-off, s.
    pub fn time(&self) -> f64 {
        match (self.passes.first(), self.passes.last()) {
            (Some(first), Some(last)) => last.time + last.burn.end() - first.time - first.burn.start,
            _ => 0.0,
        }
    }
}

/// Splits a burn over passes of one place.
///
/// The velocity goes from the one before to the one after in steps along the impulse, one a pass. From a closed orbit the last step stands where the impulse
/// stood, into a closed orbit from an open one the first. The steps are made so long that the times between them sum to whole periods of the closed orbit,
/// where that can be: then the passes keep the time of the plan. Where it cannot be (few passes, little change of the period) the last burn comes earlier
/// than planned by less than a period, or the orbit after a capture is as much ahead.
///
/// All burns but the last are solved with [`Law::Turning`], which keeps the time of the next pass; the last by `law`.
///
/// # Errors
/// A number of passes that is not 1 to 40; more than one pass between open orbits; those of [`solve`].
pub fn split(
    around: &Surroundings,
    impulse: &Impulse,
    supply: &Supply,
    law: Law,
    passes: usize,
    ground: f64,
    watch: &Watch<'_>,
) -> Result<Passes, FiniteError> {
    if !(1..=MOST_PASSES).contains(&passes) {
        return Err(FiniteError::Passes { passes, most: MOST_PASSES });
    }
    let steps = if passes == 1 { vec![(0.0, 0.0, 1.0, None)] } else { steps(around.gravity.gm(), impulse, passes)? };
    let mut left = Some(supply.clone());
    let mut found = Vec::with_capacity(passes);
    for (index, (time, from, to, period)) in steps.into_iter().enumerate() {
        let before = State::new(impulse.before.position, impulse.before.velocity + impulse.dv * from);
        let part = Impulse { before, dv: impulse.dv * (to - from) };
        let own = if index + 1 == passes { law } else { Law::Turning };
        let Some(here) = &left else {
            return Err(FiniteError::NotEnough { needed_m_s: impulse.size(), left_m_s: supply.dv() });
        };
        let burn = solve(around, &part, here, own, ground, watch)?;
        left = here.after(burn.dv);
        found.push(Pass { time, period, burn });
    }
    Ok(Passes { passes: found, impulse: impulse.size() })
}

/// As [`split`], over as few passes as keep the loss within a limit, m/s.
///
/// # Errors
/// A loss above the limit with any number of passes; those of [`split`].
pub fn split_within(
    around: &Surroundings,
    impulse: &Impulse,
    supply: &Supply,
    law: Law,
    limit: f64,
    ground: f64,
    watch: &Watch<'_>,
) -> Result<Passes, FiniteError> {
    super::error::positive("the loss allowed, m/s,", limit)?;
    let mut last = FiniteError::StillTooMuch { loss_m_s: f64::INFINITY, limit_m_s: limit, most: MOST_PASSES };
    for passes in 1..=MOST_PASSES {
        match split(around, impulse, supply, law, passes, ground, watch) {
            Ok(found) if found.loss() <= limit => return Ok(found),
            Ok(found) => {
                last = FiniteError::StillTooMuch { loss_m_s: found.loss(), limit_m_s: limit, most: MOST_PASSES };
            }
            // Too long a burn or too much propellant: with more passes there is less of either.
            Err(refused @ (FiniteError::NotMet { .. } | FiniteError::NotEnough { .. })) => last = refused,
            Err(other) => return Err(other),
        }
    }
    Err(last)
}

/// When a step stands (s), the shares of the impulse that are done before and after it, and the period after it (s).
type Step = (f64, f64, f64, Option<f64>);

fn steps(gm: f64, impulse: &Impulse, passes: usize) -> Result<Vec<Step>, FiniteError> {
    let period = |share: f64| -> f64 {
        let state = State::new(impulse.before.position, impulse.before.velocity + impulse.dv * share);
        let energy = energy(gm, &state);
        if energy < 0.0 { TAU * gm / (-2.0 * energy).powf(1.5) } else { f64::INFINITY }
    };
    let leaving = period(0.0).is_finite();
    let whole = if leaving { period(0.0) } else { period(1.0) };
    if !whole.is_finite() {
        return Err(FiniteError::NeverComesBack);
    }
    let count = passes as f64;
    // Shares done after each pass but the last, at a scale of 1 in equal parts, counted from the closed end.
    let done = |scale: f64, pass: usize| {
        if leaving { scale * pass as f64 / count } else { 1.0 - scale * (passes - pass) as f64 / count }
    };
    let periods = |scale: f64| -> Vec<f64> { (1..passes).map(|pass| period(done(scale, pass))).collect() };
    let longest = |scale: f64| periods(scale).into_iter().fold(0.0, f64::max);
    let ceiling = 0.98 * count / (count - 1.0);
    // The scale at which the longest orbit is as long as allowed: by its logarithm, as it grows without end.
    let excess = |scale: f64| (longest(scale).min(1e30) / LONGEST_BETWEEN).ln();
    let cap =
        if excess(ceiling) <= 0.0 { ceiling } else { root::bracketed(excess, 1e-6, ceiling, 1e-9).unwrap_or(0.5) };
    let most = cap.min(1.0);
    let turns = |scale: f64| periods(scale).iter().sum::<f64>() / whole;
    // A little more than equal parts may be needed to fill the next whole period.
    let (low, high) = (0.3 * most, (1.3 * most).min(cap));
    let (fewest, most_turns) = (turns(low).min(turns(high)), turns(low).max(turns(high)));
    let nearest = turns(most).round().min(most_turns.floor()).max(fewest.ceil());
    let fits = nearest.is_finite() && (fewest..=most_turns).contains(&nearest);
    let scale =
        if fits { root::bracketed(|scale| turns(scale) - nearest, low, high, 0.0).unwrap_or(most) } else { most };
    let between = periods(scale);
    let sum: f64 = between.iter().sum();
    let mut time = if leaving { -whole * if fits { nearest } else { (sum / whole).ceil() } } else { 0.0 };
    let mut steps = Vec::with_capacity(passes);
    let mut from = 0.0;
    for pass in 1..=passes {
        let to = if pass == passes { 1.0 } else { done(scale, pass) };
        let next = between.get(pass - 1).copied();
        steps.push((time, from, to, next));
        from = to;
        time += next.unwrap_or(0.0);
    }
    Ok(steps)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::burn::finite::Phase;
    use crate::conic::{hyperbola, propagate};

    const GM: f64 = 3.986_004_418e14;
    const RADIUS: f64 = 6_678_137.0;

    fn supply(ratio: f64) -> Supply {
        let thrust = 1e4 * 9.80665 * ratio;
        let phase = Phase { thrust, exit_area: 0.0, exhaust_speed: 4413.0, mass: 1e4, propellant: 8000.0 };
        Supply::new(vec![phase]).unwrap()
    }

    fn departure() -> Impulse {
        let before = State::new([RADIUS, 0.0, 0.0].into(), [0.0, (GM / RADIUS).sqrt(), 0.0].into());
        let speed = (1e7 + 2.0 * GM / RADIUS).sqrt();
        Impulse { before, dv: crate::vector::Vec3::new(0.0, speed - before.speed(), 0.0) }
    }

    fn split_of(impulse: &Impulse, ratio: f64, passes: usize) -> Passes {
        split(&Surroundings::point(GM), impulse, &supply(ratio), Law::Turning, passes, 6.4e6, &Watch::none()).unwrap()
    }

    #[test]
    fn passes_keep_the_time_of_the_plan_and_lose_less() {
        let impulse = departure();
        let once = split_of(&impulse, 0.3, 1);
        for passes in [2, 3, 5] {
            let several = split_of(&impulse, 0.3, passes);
            assert_eq!(several.passes.len(), passes);
            assert!(several.loss() < once.loss(), "{passes}: {} {}", several.loss(), once.loss());
            let last = several.passes.last().unwrap();
            assert!(last.time.abs() < 1e-3, "{}", last.time);
            let wanted = hyperbola::outgoing(GM, &impulse.after()).unwrap().v_infinity;
            let got = hyperbola::outgoing(GM, &last.burn.end_state()).unwrap().v_infinity;
            assert!((got - wanted).norm() < 1e-4);
            // Each begins on the conic that the one before it left, where that one is by then.
            for pair in several.passes.windows(2) {
                let (one, next) = (&pair[0], &pair[1]);
                let wait = next.time + next.burn.start - one.time - one.burn.end();
                let coast = propagate(GM, &one.burn.end_state(), wait).unwrap();
                let start = next.burn.flown.start();
                let off = (coast.position - crate::burn::finite::state_of(&start).position).norm();
                // 1e-9 of the distance at the burn grows with the turns between.
                assert!(off < 20.0, "{off}");
            }
        }
    }

    #[test]
    fn a_capture_is_split_after_its_first_pass() {
        let mut impulse = departure();
        impulse = Impulse { before: impulse.after(), dv: -impulse.dv };
        let several = split_of(&impulse, 0.3, 4);
        assert_eq!(several.passes[0].time, 0.0);
        let last = several.passes.last().unwrap();
        let turns = last.time / (TAU * (RADIUS.powi(3) / GM).sqrt());
        assert!((turns - turns.round()).abs() < 1e-6, "{turns}");
        assert!((last.burn.end_state().radius() / RADIUS - 1.0).abs() < 1e-6);
    }

    #[test]
    fn as_few_passes_as_the_limit_asks_for() {
        let (around, impulse, watch) = (Surroundings::point(GM), departure(), Watch::none());
        let within = split_within(&around, &impulse, &supply(0.3), Law::Turning, 15.0, 6.4e6, &watch).unwrap();
        assert!(within.loss() <= 15.0 && within.passes.len() > 1);
        assert!(split_of(&impulse, 0.3, within.passes.len() - 1).loss() > 15.0);
        let none = split(&around, &impulse, &supply(0.3), Law::Turning, 0, 6.4e6, &watch);
        assert!(matches!(none, Err(FiniteError::Passes { .. })));
        let open = Impulse { before: impulse.after(), dv: impulse.dv };
        let never = split(&around, &open, &supply(0.3), Law::Turning, 2, 6.4e6, &watch);
        assert!(matches!(never, Err(FiniteError::NeverComesBack)), "{never:?}");
    }
}
