//! The legs of a journey, found from its places.

use super::aerobraking::aerobraking;
use super::{Alternative, Back, Basis, Budget, BudgetError, Home, JourneyOptions, Line, assist, positive, surface};
use crate::arc::asymptote::speed_at;
use crate::arc::window::{Rank, Window};
use crate::arc::{ArrivalOrbit, WindowOptions, windows};
use crate::burn::hohmann::apse_speed;
use crate::burn::{phasing, plane};
use crate::numerics::watch::Watch;
use crate::orbit::Orbit;
use crate::system::{Air, Body};
use crate::time::Epoch;

/// Most windows of the way there that a way back is looked for.
const TRIED: usize = 3;

/// Shortest stay, s, where none is asked for.
const SHORTEST_STAY: f64 = 10.0 * 86_400.0;

/// The budget of a journey from `from` to `to`.
///
/// The windows of the way there are ranked by departure and arrival together; where there is a way back, the first three are tried and
/// the least sum of all lines wins.
///
/// # Errors
/// No window on one of the ways, with the reason; figures below zero; a landing where there is no ground; interruption.
pub fn budget(from: &Body, to: &Body, options: &JourneyOptions, watch: &Watch<'_>) -> Result<Budget, BudgetError> {
    positive("the allowance for corrections, m/s,", options.corrections)?;
    for (what, part) in [
        ("the margin on what is computed", options.margins.computed),
        ("the margin on estimates", options.margins.estimate),
        ("the margin on allowances", options.margins.allowance),
    ] {
        positive(what, part)?;
    }
    let mut search = WindowOptions::new(options.between, options.parking_altitude);
    search.flight_time = options.flight_time;
    search.arrival = Some(options.arrival);
    search.rank = Some(Rank::Total);
    search.shoot = false;
    let outward = found(from, to, &search, watch)?;
    let Some(back) = &options.back else {
        return Journey { from, to, options, watch }.lines(outward.into_iter().next(), None);
    };
    let mut best: Option<Budget> = None;
    let mut refusal = None;
    for window in outward.into_iter().take(TRIED) {
        match homeward(from, to, options, back, &window, watch) {
            Ok(home) => {
                let whole = Journey { from, to, options, watch }.lines(Some(window), Some(home))?;
                if best.as_ref().is_none_or(|least| whole.dv() < least.dv()) {
                    best = Some(whole);
                }
            }
            Err(BudgetError::Plan(crate::arc::PlanError::Stopped)) => {
                return Err(crate::arc::PlanError::Stopped.into());
            }
            Err(error) => refusal = refusal.or(Some(error)),
        }
    }
    let (first, last) = options.between;
    let nothing = || BudgetError::NoWindow {
        from: to.name().to_owned(),
        to: from.name().to_owned(),
        first,
        last,
        why: "nothing was left".to_owned(),
    };
    best.ok_or_else(|| refusal.unwrap_or_else(nothing))
}

/// The windows of one way, at least one.
fn found(from: &Body, to: &Body, search: &WindowOptions, watch: &Watch<'_>) -> Result<Vec<Window>, BudgetError> {
    let answer = windows(from, to, search, watch)?;
    if answer.list.is_empty() {
        let (first, last) = search.between;
        let why = answer.note.unwrap_or_else(|| "nothing was left".to_owned());
        return Err(BudgetError::NoWindow { from: from.name().to_owned(), to: to.name().to_owned(), first, last, why });
    }
    Ok(answer.list)
}

/// The cheapest way back after a stay.
fn homeward(
    from: &Body,
    to: &Body,
    options: &JourneyOptions,
    back: &Back,
    outward: &Window,
    watch: &Watch<'_>,
) -> Result<Window, BudgetError> {
    let (shortest, longest) = back.stay.unwrap_or_else(|| (SHORTEST_STAY, synodic(from, to)));
    positive("the stay, s,", shortest)?;
    if !(longest >= shortest && longest.is_finite()) {
        return Err(BudgetError::Stay { shortest_s: shortest, longest_s: longest });
    }
    let between = (outward.arrive.after(shortest), outward.arrive.after(longest));
    let mut search = WindowOptions::new(between, options.arrival.periapsis_radius(to) - to.radius());
    search.shoot = false;
    match back.home {
        Home::Entry { .. } => search.rank = Some(Rank::Departure),
        Home::Orbit(orbit) => {
            search.arrival = Some(orbit);
            search.rank = Some(Rank::Total);
        }
    }
    let all = found(to, from, &search, watch)?;
    all.into_iter().next().ok_or(BudgetError::Stay { shortest_s: shortest, longest_s: longest })
}

/// Time after which two bodies stand alike about the ancestor that they share, s; ten years where they have none.
fn synodic(a: &Body, b: &Body) -> f64 {
    let ten_years = 10.0 * 365.25 * 86_400.0;
    let line = |body: &Body| {
        let mut line = vec![body.clone()];
        line.extend(body.ancestors());
        line
    };
    let (first, second) = (line(a), line(b));
    for (i, one) in first.iter().enumerate() {
        if let Some(j) = second.iter().position(|other| other == one) {
            let period = |line: &[Body], k: usize| k.checked_sub(1).and_then(|k| line[k].orbital_period());
            return match (period(&first, i), period(&second, j)) {
                (Some(x), Some(y)) => phasing::synodic_period(x, y).map_or(ten_years, |time| time.min(ten_years)),
                // From a planet to its moon: a month of the moon.
                (Some(one), None) | (None, Some(one)) => one,
                (None, None) => ten_years,
            };
        }
    }
    ten_years
}

struct Journey<'a> {
    from: &'a Body,
    to: &'a Body,
    options: &'a JourneyOptions,
    watch: &'a Watch<'a>,
}

impl Journey<'_> {
    fn line(
        &self,
        name: String,
        dv: f64,
        basis: Basis,
        how: String,
        span: (Epoch, Epoch),
        words: &'static [&'static str],
    ) -> Line {
        Line { name, dv, basis, margin: self.options.margins.of(basis), how, start: span.0, end: span.1, words }
    }

    /// All lines for a way there and perhaps one back.
    fn lines(&self, outward: Option<Window>, homeward: Option<Window>) -> Result<Budget, BudgetError> {
        let (from, to, options) = (self.from, self.to, self.options);
        let Some(outward) = outward else {
            let (first, last) = options.between;
            let (from, to) = (from.name().to_owned(), to.name().to_owned());
            return Err(BudgetError::NoWindow { from, to, first, last, why: "nothing was left".to_owned() });
        };
        let mut lines = Vec::new();
        let at = |epoch: Epoch| (epoch, epoch);
        if options.launch {
            let up = surface::ascent(from, options.parking_altitude)?;
            let words = &["ascent", "ascend", "launch"];
            let name = format!("ascent from {}", from.name());
            lines.push(self.line(name, up.dv, Basis::Estimate, up.how, at(outward.depart), words));
        }
        let speeds = |window: &Window| {
            let show =
                |v: Option<crate::vector::Vec3>| v.map_or("none".to_owned(), |v| format!("{:.3} km/s", v.norm() / 1e3));
            (show(window.v_inf_depart), show(window.v_inf_arrive))
        };
        let (leaving, arriving) = speeds(&outward);
        let how = format!("window {}, v-infinity {leaving}, C3 {:.2} km²/s²", day(outward.depart), outward.c3 / 1e6);
        let name = format!("departure from {}", from.name());
        let words: &[&str] = &["depart", "inject", "leave", "escape"];
        lines.push(self.line(name, outward.dv_departure, Basis::Computed, how, at(outward.depart), words));
        self.correct(&mut lines, "out", (outward.depart, outward.arrive));
        let captured = outward.dv_arrival.unwrap_or(0.0);
        let how = format!("arrival {}, v-infinity {arriving}", day(outward.arrive));
        let words = &["capture", "insertion", "arriv"];
        let name = format!("capture at {}", to.name());
        lines.push(self.line(name, captured, Basis::Computed, how, at(outward.arrive), words));
        self.turn(&mut lines, &outward)?;
        let altitude = options.arrival.periapsis_radius(to) - to.radius();
        if options.landing {
            let down = surface::landing(to, altitude)?;
            let name = format!("landing on {}", to.name());
            let words = &["land", "descen", "deorbit", "enter"];
            lines.push(self.line(name, down.dv, Basis::Estimate, down.how, at(outward.arrive), words));
        }
        let mut entry_speed = None;
        if let (Some(back), Some(home)) = (&options.back, &homeward) {
            if options.landing {
                let up = surface::ascent(to, altitude)?;
                let words = &["ascent", "ascend", "lift-off", "launch"];
                let name = format!("ascent from {}", to.name());
                lines.push(self.line(name, up.dv, Basis::Estimate, up.how, at(home.depart), words));
            }
            entry_speed = self.way_back(&mut lines, back, home);
        }
        let alternatives = self.alternatives(&outward, captured)?;
        Ok(Budget { from: from.clone(), to: to.clone(), lines, alternatives, outward, homeward, entry_speed })
    }

    fn correct(&self, lines: &mut Vec<Line>, way: &str, span: (Epoch, Epoch)) {
        let how = "set aside for the cruise".to_owned();
        let words = &["correct", "trim", "aim"];
        lines.push(self.line(
            format!("corrections, {way}"),
            self.options.corrections,
            Basis::Allowance,
            how,
            span,
            words,
        ));
    }

    /// The turn into the plane asked for: the aim holds any that is not flatter than the approach.
    fn turn(&self, lines: &mut Vec<Line>, outward: &Window) -> Result<(), BudgetError> {
        let (Some(wanted), Some(v)) = (self.options.inclination, outward.v_inf_arrive) else { return Ok(()) };
        let to = self.to;
        let least = v.normalize().dot(&to.pole(outward.arrive)).clamp(-1.0, 1.0).asin().abs();
        let off = (least - wanted).max(wanted - (std::f64::consts::PI - least)).max(0.0);
        let near = self.options.arrival.periapsis_radius(to);
        let far = match self.options.arrival {
            ArrivalOrbit::Circular { .. } => near,
            ArrivalOrbit::Ellipse { apoapsis_altitude, .. } => to.radius() + apoapsis_altitude,
        };
        let dv = plane::turn(apse_speed(Orbit::gm_of(to), far, near), 0.0, off)?;
        let how = if off == 0.0 {
            format!("held by the aim: the approach declines by {:.1} deg", least.to_degrees())
        } else {
            format!("{:.1} deg at apoapsis: the approach declines by {:.1} deg", off.to_degrees(), least.to_degrees())
        };
        let words = &["plane", "inclin"];
        let at = (outward.arrive, outward.arrive);
        lines.push(self.line(format!("plane change at {}", to.name()), dv, Basis::Computed, how, at, words));
        Ok(())
    }

    /// Escape, corrections and arrival of the way back; the entry speed where it ends in the air.
    fn way_back(&self, lines: &mut Vec<Line>, back: &Back, home: &Window) -> Option<f64> {
        let (from, to, options) = (self.from, self.to, self.options);
        let at = |epoch: Epoch| (epoch, epoch);
        // From the periapsis of the orbit that waits, which an ellipse passes faster than a circle.
        let periapsis = options.arrival.periapsis_radius(to);
        let dv = home.v_inf_depart.map_or(home.dv_departure, |v| {
            (speed_at(Orbit::gm_of(to), v.norm(), periapsis) - options.arrival.periapsis_speed(to)).abs()
        });
        let excess = home.v_inf_depart.map_or(0.0, |v| v.norm());
        let how = format!("window {}, v-infinity {:.3} km/s, from periapsis", day(home.depart), excess / 1e3);
        let words = &["escape", "depart", "return", "home", "leave"];
        lines.push(self.line(format!("escape from {}", to.name()), dv, Basis::Computed, how, at(home.depart), words));
        self.correct(lines, "home", (home.depart, home.arrive));
        let v = home.v_inf_arrive.map_or(0.0, |v| v.norm());
        match back.home {
            Home::Entry { altitude } => {
                let speed = speed_at(Orbit::gm_of(from), v, from.radius() + altitude);
                let how = format!(
                    "entry at {:.3} km/s, {:.0} km up: heat and load follow licensed practice and range safety",
                    speed / 1e3,
                    altitude / 1e3
                );
                let words = &["entry", "enter"];
                let name = format!("entry at {}", from.name());
                lines.push(self.line(name, 0.0, Basis::Computed, how, at(home.arrive), words));
                Some(speed)
            }
            Home::Orbit(_) => {
                let dv = home.dv_arrival.unwrap_or(0.0);
                let how = format!("arrival {}, v-infinity {:.3} km/s", day(home.arrive), v / 1e3);
                let words = &["capture", "insertion", "arriv"];
                let name = format!("capture at {}", from.name());
                lines.push(self.line(name, dv, Basis::Computed, how, at(home.arrive), words));
                None
            }
        }
    }

    /// What could be cheaper at the arrival.
    fn alternatives(&self, outward: &Window, captured: f64) -> Result<Vec<Alternative>, BudgetError> {
        let (to, options) = (self.to, self.options);
        let mut found = Vec::new();
        let Some(v) = outward.v_inf_arrive.map(|v| v.norm()) else { return Ok(found) };
        let name = format!("capture at {}", to.name());
        let loose = options.loose_apoapsis.unwrap_or(0.1 * to.sphere_of_influence() - to.radius());
        if let Some(braking) = aerobraking(to, v, &options.arrival, loose) {
            let how = format!(
                "burn {:.0} m/s into a loose ellipse up to {:.0} km, walk-in {:.1}, the air takes {:.0}, trims {:.0}, walk-out {:.0}; the \
                 passes take weeks to months, see `brake`",
                braking.capture,
                loose / 1e3,
                braking.walk_in,
                braking.by_the_air,
                braking.trims,
                braking.walk_out
            );
            found.push(Alternative {
                name: "aerobraking".to_owned(),
                replaces: vec![name.clone()],
                dv: braking.dv(),
                saves: captured - braking.dv(),
                how,
            });
        }
        found.extend(assist::alternatives(self.from, to, options, outward, captured, self.watch)?);
        if let Some(air) = to.air().filter(|_| options.landing) {
            let speed = speed_at(Orbit::gm_of(to), v, to.radius() + Air::top(air));
            found.push(Alternative {
                name: "straight entry".to_owned(),
                replaces: vec![name],
                dv: 0.0,
                saves: captured,
                how: format!(
                    "entry from the approach at {:.3} km/s, without an orbit: heat and load decide",
                    speed / 1e3
                ),
            });
        }
        Ok(found)
    }
}

/// An epoch to the day.
fn day(epoch: Epoch) -> String {
    epoch.show().chars().take(10).collect()
}
