//! Burns flown with the vehicle's thrust.

use super::{ForcedFlight, Happening, Voyage, VoyageError};
use crate::burn::Burn;
use crate::burn::finite::{self, FiniteBurn, Impulse, Law, Passes, Phase, Share, Supply};
use crate::motion::force::{Attitude, Surroundings};
use crate::motion::passage::Flown;
use crate::numerics::watch::Watch;
use crate::orbit::Orbit;
use crate::vector::Vec3;
use crate::vehicle::{Vehicle, VehicleError};

/// Over how many passes a burn is flown.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Spread {
    /// So many.
    Passes(usize),
    /// As few as keep the loss within this, m/s.
    Loss(f64),
}

/// How a burn is flown with thrust.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Thrusting {
    /// Where the thrust points.
    pub law: Law,
    /// Share of the vehicle's thrust, 0 to 1.
    pub throttle: f64,
    /// Over how many passes.
    pub spread: Spread,
}

impl Default for Thrusting {
    fn default() -> Self {
        Self { law: Law::Turning, throttle: 1.0, spread: Spread::Passes(1) }
    }
}

/// What a vehicle has to burn, phase by phase, at a share of its thrust.
///
/// # Errors
/// Nothing to burn; engines whose thrust is not known; a share outside of what the engines can be set to.
pub fn supply(vehicle: &Vehicle, throttle: f64) -> Result<Supply, VoyageError> {
    let mut phases = Vec::new();
    let mut left = vehicle.staged().0;
    while let Some(burning) = left.powered()? {
        let (least, greatest) = burning.throttle;
        // A range that is not told is no range: what a script asks for is taken.
        let fine = throttle > 0.0 && throttle <= 1.0 && (least == greatest || throttle >= least * (1.0 - 1e-12));
        if !fine {
            return Err(VoyageError::Throttle { stage: burning.stage, asked: throttle });
        }
        phases.push(Phase {
            thrust: burning.thrust * throttle,
            exit_area: burning.exit_area,
            exhaust_speed: burning.exhaust_speed(),
            mass: burning.mass,
            propellant: burning.propellant,
        });
        left = left.burned(burning.propellant).staged().0;
        if phases.len() > 1000 {
            break;
        }
    }
    if phases.is_empty() {
        return Err(VehicleError::NotEnough { needed_m_s: 0.0, left_m_s: 0.0, needed_kg: 0.0, left_kg: 0.0 }.into());
    }
    Ok(Supply::new(phases)?)
}

/// A vehicle at the beginning of a phase, and the names of the stages that burn in it: those that did not burn until now are lit.
fn lit(vehicle: &Vehicle, until_now: &[String]) -> Result<(Vehicle, Vec<String>), VoyageError> {
    let burning = vehicle.powered()?.map_or_else(Vec::new, |powered| powered.burning);
    let new: Vec<&String> = burning.iter().filter(|name| !until_now.contains(name)).collect();
    Ok((vehicle.ignited(&new)?, burning))
}

/// What burns under thrust are flown among about a body: its attraction as conics know it.
pub(super) fn surroundings(orbit: &Orbit) -> Surroundings {
    Surroundings::of(orbit.body(), orbit.epoch()).spherical().airless()
}

/// A planned burn under thrust, on the orbit that it belongs to and with what a vehicle has.
///
/// - `before`: the orbit at the epoch of the impulse.
///
/// # Errors
/// Those of the supply and of the solution.
pub fn plan(
    before: &Orbit,
    dv: Vec3,
    supply: &Supply,
    how: &Thrusting,
    watch: &Watch<'_>,
) -> Result<Passes, VoyageError> {
    let (around, impulse) = (surroundings(before), Impulse { before: *before.state(), dv });
    let ground = before.body().radius();
    Ok(match how.spread {
        Spread::Passes(passes) => finite::split(&around, &impulse, supply, how.law, passes, ground, watch)?,
        Spread::Loss(limit) => finite::split_within(&around, &impulse, supply, how.law, limit, ground, watch)?,
    })
}

impl Voyage {
    /// Execute a burn with the vehicle's thrust. A planned one coasts to its ignition, which is solved with the direction and the duration so that it does
    /// what the impulse does; one without a plan begins here and now and spends its Δv, in the direction that it has here.
    ///
    /// Returns the burns flown, one a pass; none where the craft was lost on the way to the first.
    ///
    /// # Errors
    /// As [`Voyage::burn`]; engines whose thrust is not known; an ignition that is past; what the law of attitude cannot match; a way through the ground.
    /// The voyage is left as it was.
    pub fn burn_with_thrust(
        &mut self,
        burn: &Burn,
        how: &Thrusting,
        watch: &Watch<'_>,
    ) -> Result<Vec<FiniteBurn>, VoyageError> {
        self.check_not_lost()?;
        self.check_aloft("burn")?;
        let label = if burn.label.is_empty() { "burn" } else { burn.label.as_str() };
        let supply = supply(self.vehicle(), how.throttle)?;
        let mut work = self.clone();
        let Some(plan_of) = &burn.plan else {
            let flown = work.open_burn(burn, label, &supply, how.law, watch)?;
            *self = work;
            return Ok(vec![flown]);
        };
        // Where the impulse stands is found by coasting there, as a plan knows it only to 1 km.
        let mut there = self.clone();
        there.coast_until(plan_of.epoch, label, watch)?;
        if there.check_not_lost().is_err() {
            *self = there;
            return Ok(Vec::new());
        }
        there.check_planned(burn, label)?;
        let before = there.orbit().clone();
        let passes = plan(&before, burn.dv_at(before.state())?, &supply, how, watch)?;
        let count = passes.passes.len();
        let mut left = Some(supply);
        let mut burns = Vec::with_capacity(count);
        for (index, pass) in passes.passes.into_iter().enumerate() {
            let name = if count == 1 { label.to_owned() } else { format!("{label} {} of {count}", index + 1) };
            let clock = plan_of.epoch.after(pass.time);
            let ignition = clock.after(pass.burn.start);
            if ignition < work.epoch() {
                return Err(VoyageError::IgnitionPast {
                    burn: name,
                    early_s: work.epoch().seconds_since(ignition),
                    now: work.epoch(),
                });
            }
            work.coast_until(ignition, &format!("coast to {name}"), watch)?;
            if work.check_not_lost().is_err() {
                *self = work;
                return Ok(burns);
            }
            if work.body() != before.body() {
                return Err(VoyageError::OtherBody {
                    burn: name,
                    planned: before.body().name().to_owned(),
                    actual: work.body().name().to_owned(),
                    epoch: ignition,
                });
            }
            let Some(here) = left else { break };
            let start = work.epoch().seconds_since(clock);
            work.enter_burn(&name, clock, start, &pass.burn, &here, watch)?;
            left = here.after(pass.burn.dv);
            burns.push(pass.burn);
        }
        *self = work;
        Ok(burns)
    }

    /// A burn without a plan: from here and now, its Δv spent.
    fn open_burn(
        &mut self,
        burn: &Burn,
        label: &str,
        supply: &Supply,
        law: Law,
        watch: &Watch<'_>,
    ) -> Result<FiniteBurn, VoyageError> {
        let state = *self.now.state();
        let dv = burn.dv_at(&state)?;
        let around = surroundings(&self.now);
        let attitude = match law {
            Law::Along => Attitude::Along { sign: dv.dot(&state.velocity).signum() },
            Law::Turning | Law::Fixed => Attitude::fixed(dv),
        };
        let impulse = Impulse { before: state, dv };
        let flown = finite::open(&around, &impulse, supply, law, attitude, self.body().radius(), watch)?;
        self.enter_burn(label, self.epoch(), 0.0, &flown, supply, watch)?;
        Ok(flown)
    }

    /// Flies a solved burn from where the voyage is, to the last digits, and enters it.
    fn enter_burn(
        &mut self,
        name: &str,
        clock: crate::time::Epoch,
        start: f64,
        burn: &FiniteBurn,
        supply: &Supply,
        watch: &Watch<'_>,
    ) -> Result<(), VoyageError> {
        let around = surroundings(&self.now);
        let shares = supply.shares(burn.dv);
        let flown = finite::flown_from(&around, self.now.state(), start, &shares, burn.attitude, watch)?;
        let mut time = start;
        let ends: Vec<f64> = shares
            .iter()
            .map(|share| {
                time += share.time;
                time
            })
            .collect();
        self.enter_thrust(name, clock, &around, &flown, &shares, &ends, (burn.dv, burn.impulse.size()))
    }

    /// Enters a flight under thrust: what burned, what ran dry on the way, and what is left.
    ///
    /// - `ends`: when each share but the last ran dry, s; `speeds`: ideal, and of the impulse, m/s.
    #[expect(clippy::too_many_arguments, reason = "a flight, what burned in it, and what it is called")]
    pub(super) fn enter_thrust(
        &mut self,
        name: &str,
        clock: crate::time::Epoch,
        around: &Surroundings,
        flown: &Flown,
        shares: &[Share],
        ends: &[f64],
        speeds: (f64, f64),
    ) -> Result<(), VoyageError> {
        let start = flown.start().time;
        let (mut vehicle, gone) = self.vehicle().staged();
        let mut left = Vec::new();
        for part in &gone {
            left.push((start, self.vehicle().left_alone(&part.name)?));
        }
        let mut burning = Vec::new();
        if !shares.is_empty() {
            (vehicle, burning) = lit(&vehicle, &burning)?;
        }
        let mut happenings: Vec<Happening> = gone
            .into_iter()
            .map(|part| Happening { time: start, what: format!("{} left behind", part.name), dropped: 0.0 })
            .collect();
        for (index, share) in shares.iter().enumerate() {
            let runs_dry = index + 1 < shares.len();
            // To the last gram, whatever the rounding of the flow: else the empty stage would stay.
            vehicle = vehicle.burned(if runs_dry { f64::MAX } else { share.time * share.phase.flow() });
            if runs_dry {
                let time = ends.get(index).copied().unwrap_or(start);
                let (next, gone) = vehicle.staged();
                let empty = vehicle;
                (vehicle, burning) = lit(&next, &burning)?;
                for part in gone {
                    left.push((time, empty.left_alone(&part.name)?));
                    let what = format!("{} dry, left behind", part.name);
                    happenings.push(Happening { time, what, dropped: part.mass });
                }
            }
        }
        self.enter_flown(ForcedFlight {
            name,
            clock,
            around,
            flown,
            tolerance: finite::TOLERANCE,
            happenings,
            left,
            vehicle,
            dv: Some(speeds.0),
            estimate: Some(speeds.1),
            fineness: None,
            audit: Vec::new(),
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::audit::Verdict;
    use crate::vehicle::Stage;
    use crate::voyage::rehearsal::{parked, planned, unwatched};

    fn voyage(vehicle: Vehicle) -> Voyage {
        Voyage::new("long", vehicle, parked("Veyra").orbit().clone()).unwrap()
    }

    fn tug(thrust: Option<f64>) -> Vehicle {
        Vehicle::new("tug", 2000.0, 8000.0, 450.0, thrust).unwrap()
    }

    fn departure(voyage: &Voyage) -> Burn {
        let later = voyage.orbit().at(voyage.epoch().after(300_000.0)).unwrap();
        let along = later.state().velocity.normalize();
        planned(&later, along * 2500.0).labelled("departure")
    }

    #[test]
    fn a_planned_burn_is_flown_and_the_next_plan_fits() {
        let mut impulsive = voyage(tug(None));
        let burn = departure(&impulsive);
        impulsive.burn(&burn, &unwatched()).unwrap();
        impulsive.coast(40_000.0, &unwatched()).unwrap();
        for spread in [Spread::Passes(1), Spread::Passes(3)] {
            let mut long = voyage(tug(Some(40_000.0)));
            let how = Thrusting { spread, ..Thrusting::default() };
            let flown = long.burn_with_thrust(&burn, &how, &unwatched()).unwrap();
            assert!(flown[0].loss() > 0.0);
            long.coast_until(impulsive.epoch(), "coast", &unwatched()).unwrap();
            let off = (long.orbit().state().position - impulsive.orbit().state().position).norm();
            // The solution holds 1e-9 of the distance at the burn; ten times as far away it is less than this.
            assert!(off < 2.0, "{off}");
            assert_eq!(long.audit().verdict(), Verdict::Good, "{:?}", long.audit().worst());
            let ledger = long.ledger();
            assert!((ledger.rows.iter().filter_map(|row| row.dv_estimate).sum::<f64>() - burn.size()).abs() < 1e-9);
            assert!((ledger.dv - flown.iter().map(|burn| burn.dv).sum::<f64>()).abs() < 1e-9);
        }
    }

    #[test]
    fn a_stage_that_runs_dry_is_left_in_the_middle_of_the_burn() {
        let lower = Stage::new("lower", 500.0, 3000.0, 320.0, Some(60_000.0)).unwrap();
        let upper = Stage::new("upper", 900.0, 4000.0, 450.0, Some(30_000.0)).unwrap();
        let mut long = voyage(Vehicle::of_stages("pair", vec![lower, upper]).unwrap());
        let burn = departure(&long);
        long.burn_with_thrust(&burn, &Thrusting::default(), &unwatched()).unwrap();
        assert_eq!(long.vehicle().stages().len(), 1);
        assert_eq!(long.vehicle().stages()[0].lit(), 1);
        assert_eq!(long.audit().verdict(), Verdict::Good, "{:?}", long.audit().worst());
    }

    #[test]
    fn each_pass_takes_an_ignition_and_the_last_one_left_is_the_last() {
        let text = "name = \"tug\"\n[[engine]]\nname = \"kick\"\nthrust = \"40 kN\"\nisp = \"450 s\"\nignitions = 2\n\
                    [[stage]]\nname = \"tug\"\ndry = \"2 t\"\npropellant = \"8 t\"\nengines = [{ engine = \"kick\", number = 1 }]\n";
        let twice = || voyage(Vehicle::read(&[text], "tug").unwrap());
        let how = |passes: usize| Thrusting { spread: Spread::Passes(passes), ..Thrusting::default() };
        let mut long = twice();
        let burn = departure(&long);
        long.burn_with_thrust(&burn, &how(2), &unwatched()).unwrap();
        assert_eq!((long.vehicle().stages()[0].lit(), long.vehicle().stages()[0].ignitions_left()), (2, Some(0)));
        let refused = twice().burn_with_thrust(&burn, &how(3), &unwatched());
        assert!(matches!(refused, Err(VoyageError::Vehicle(VehicleError::NoIgnition { .. }))), "{refused:?}");
    }

    #[test]
    fn refused_burns_leave_the_voyage_as_it_was() {
        let mut silent = voyage(tug(None));
        let burn = departure(&silent);
        let before = format!("{silent:?}");
        let refused = silent.burn_with_thrust(&burn, &Thrusting::default(), &unwatched());
        assert!(matches!(refused, Err(VoyageError::Vehicle(VehicleError::NoThrust { .. }))), "{refused:?}");
        assert_eq!(format!("{silent:?}"), before);
        let mut late = voyage(tug(Some(20_000.0)));
        late.coast(299_950.0, &unwatched()).unwrap();
        let refused = late.burn_with_thrust(&burn, &Thrusting::default(), &unwatched());
        assert!(matches!(refused, Err(VoyageError::IgnitionPast { .. })), "{refused:?}");
        let none = Thrusting { throttle: 0.0, ..Thrusting::default() };
        let refused = late.burn_with_thrust(&burn, &none, &unwatched());
        assert!(matches!(refused, Err(VoyageError::Throttle { .. })), "{refused:?}");
    }

    #[test]
    fn a_burn_without_a_plan_begins_here_and_now() {
        let mut voyage = voyage(tug(Some(20_000.0)));
        let flown = voyage
            .burn_with_thrust(&Burn::local(100.0, 0.0, 0.0).unwrap(), &Thrusting::default(), &unwatched())
            .unwrap();
        assert_eq!((flown.len(), flown[0].start), (1, 0.0));
        assert!((voyage.ledger().dv - 100.0).abs() < 1e-9);
        assert_eq!(voyage.audit().verdict(), Verdict::Good, "{:?}", voyage.audit().worst());
    }
}
