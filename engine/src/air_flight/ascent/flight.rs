//! A vehicle in powered flight: thrust and air from one switch to the next, stages and fairings left behind on the way.

use super::stretch::Stretch;
use super::{AscentError, Settings};
use crate::conic::State;
use crate::motion::force::{Attitude, Craft, Drag, Quantity, Stop, Surroundings, Throttle, Thrust};
use crate::motion::passage::{Flown, fly};
use crate::motion::{Crossing, Point};
use crate::numerics::watch::Watch;
use crate::vector::Vec3;
use crate::vehicle::{Fairing, Left, Powered, Vehicle, VehicleError};

/// Error that a step may add to the velocity, as a share of it: some 1e-6 m/s over a whole ascent.
pub const TOLERANCE: f64 = 1e-11;

/// Heat flux under which a fairing leaves that is told neither height nor flux, W/m². Common practice, no source: 1135 W/m².
const BARE: f64 = 1135.0;

/// A part that was left behind, where and when.
#[derive(Debug, Clone, PartialEq)]
pub struct Drop {
    /// What it was, and its mass.
    pub part: Left,
    /// The part by itself.
    pub vehicle: Vehicle,
    /// s after lift-off.
    pub time: f64,
    /// Inertial, about the centre, m and m/s.
    pub state: State,
}

/// What happened, and when.
#[derive(Debug, Clone, PartialEq)]
pub struct Event {
    /// s after lift-off.
    pub time: f64,
    /// Such as `lift-off`, `pair dropped`, `cut-off`.
    pub what: String,
}

/// Why a piece of powered flight ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Ended {
    /// Its time was over.
    Time,
    /// One of the caller's own stops, counted from 0.
    Stop(usize),
    /// Nothing is left to burn.
    Dry,
}

/// How the engines are set.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Setting {
    Full,
    Least,
    HoldsAcceleration(f64),
    HoldsPressure,
}

/// A vehicle in flight.
#[derive(Clone)]
pub(super) struct Flight<'a> {
    pub around: &'a Surroundings,
    pub settings: &'a Settings,
    pub watch: &'a Watch<'a>,
    /// As it was when the phase began that burns now.
    vehicle: Vehicle,
    /// What burns now; `None` when all is burned.
    pub burning: Option<Powered>,
    /// What burns after that.
    coming: Vec<Powered>,
    setting: Setting,
    drag: Option<Drag>,
    pub point: Point<4>,
    pub flown: Option<Flown>,
    pub events: Vec<Event>,
    pub drops: Vec<Drop>,
    /// Ideal speed that thrust has given in all, m/s.
    pub ideal: f64,
    /// For each phase of burning: its name, and when it began, s.
    pub phases: Vec<(String, f64)>,
}

/// Place and velocity of a point.
pub(super) fn state_of(point: &Point<4>) -> State {
    let (p, v) = (point.position, point.velocity);
    State::new(Vec3::new(p[0], p[1], p[2]), Vec3::new(v[0], v[1], v[2]))
}

/// What a vehicle burns, phase after phase.
fn phases(vehicle: &Vehicle) -> Result<Vec<Powered>, AscentError> {
    let mut found = Vec::new();
    let mut left = vehicle.staged().0;
    while let Some(burning) = left.powered()? {
        left = left.burned(burning.propellant).staged().0;
        found.push(burning);
        if found.len() > 100 {
            break;
        }
    }
    Ok(found)
}

/// A vehicle with the engines of some stages lit once more.
fn lit<S: AsRef<str>>(vehicle: &Vehicle, stages: &[S]) -> Result<Vehicle, AscentError> {
    vehicle.ignited(stages).map_err(|error| match error {
        VehicleError::NoIgnition { engine, ignitions, .. } => AscentError::NoIgnition { engine, ignitions },
        other => other.into(),
    })
}

impl<'a> Flight<'a> {
    /// At a start, engines full.
    pub(super) fn new(
        around: &'a Surroundings,
        vehicle: &Vehicle,
        start: &State,
        time: f64,
        settings: &'a Settings,
        watch: &'a Watch<'a>,
    ) -> Result<Self, AscentError> {
        let vehicle = vehicle.staged().0;
        let mut all = phases(&vehicle)?.into_iter();
        let (p, v) = (start.position, start.velocity);
        let point = Point { time, position: [p.x, p.y, p.z, 0.0], velocity: [v.x, v.y, v.z, vehicle.mass()] };
        let area = settings.drag_area.or_else(|| vehicle.drag_area());
        let burning = all.next();
        let vehicle = match &burning {
            Some(first) => lit(&vehicle, &first.burning)?,
            None => vehicle,
        };
        let phases = burning.iter().map(|phase| (phase.stage.clone(), time)).collect();
        Ok(Self {
            around,
            settings,
            watch,
            burning,
            coming: all.collect(),
            setting: Setting::Full,
            drag: if around.layers().is_empty() { None } else { area.map(Drag::ballistic) },
            point,
            flown: None,
            events: Vec::new(),
            drops: Vec::new(),
            ideal: 0.0,
            phases,
            vehicle,
        })
    }

    pub(super) fn time(&self) -> f64 {
        self.point.time
    }

    pub(super) fn state(&self) -> State {
        state_of(&self.point)
    }

    pub(super) fn mass(&self) -> f64 {
        self.point.velocity[3]
    }

    pub(super) fn height(&self) -> f64 {
        self.around.height(&self.state().position)
    }

    /// Velocity through the air, m/s.
    pub(super) fn air_velocity(&self) -> Vec3 {
        let state = self.state();
        state.velocity - self.around.air_velocity(&state.position)
    }

    /// Dynamic pressure, Pa.
    pub(super) fn pressure(&self) -> f64 {
        0.5 * self.around.density(self.height()) * self.air_velocity().norm_squared()
    }

    /// The vehicle as it is now.
    pub(super) fn vehicle_now(&self) -> Vehicle {
        self.vehicle.burned(self.vehicle.mass() - self.mass())
    }

    pub(super) fn name(&self) -> &str {
        self.vehicle.name()
    }

    /// Lights again what burned before the coast; what has not burned yet was lit when its turn came.
    pub(super) fn relight(&mut self) -> Result<(), AscentError> {
        let Some(burning) = &self.burning else { return Ok(()) };
        if self.mass() < self.vehicle.mass() {
            self.vehicle = lit(&self.vehicle, &burning.burning)?;
        }
        Ok(())
    }

    /// Begins a phase of the accounts.
    pub(super) fn open(&mut self, name: &str) {
        self.phases.push((name.to_owned(), self.time()));
    }

    pub(super) fn note(&mut self, what: impl Into<String>) {
        self.events.push(Event { time: self.time(), what: what.into() });
    }

    /// Flies with engines on until a time or one of at most two stops, through stages and settings of the throttle.
    pub(super) fn burn(&mut self, attitude: Attitude, until: f64, stops: &[Stop]) -> Result<Ended, AscentError> {
        loop {
            let Some(burning) = self.burning.clone() else { return Ok(Ended::Dry) };
            if self.time() >= until {
                return Ok(Ended::Time);
            }
            let dry = self.vehicle.mass() - burning.propellant;
            let throttle = match self.setting {
                Setting::Full => Throttle::Share(1.0),
                Setting::Least => Throttle::Share(burning.throttle.0),
                Setting::HoldsAcceleration(figure) => Throttle::Acceleration(figure),
                Setting::HoldsPressure => Throttle::DynamicPressure,
            };
            let thrust = Thrust {
                vacuum: burning.thrust,
                exit_area: burning.exit_area,
                exhaust_speed: burning.exhaust_speed(),
                throttle,
                attitude,
            };
            let craft = Craft { thrust: Some(thrust), drag: self.drag };
            let mut watched: Vec<(Stop, Meaning)> = Vec::with_capacity(6);
            watched.push((Stop::ending(Quantity::Mass(dry), Crossing::Falling), Meaning::Dry));
            for (index, stop) in stops.iter().take(2).enumerate() {
                watched.push((*stop, Meaning::Caller(index)));
            }
            if let Some((_, quantity, crossing)) = self.fairing().filter(|_| self.setting != Setting::HoldsPressure) {
                watched.push((Stop::ending(quantity, crossing), Meaning::Fairing));
            }
            self.watch_limits(&burning, &mut watched);
            let list: Vec<Stop> = watched.iter().map(|(stop, _)| *stop).collect();
            let before = self.mass();
            let flown = fly(self.around, &craft, self.point, until, TOLERANCE, &list, self.watch)?;
            let ended = flown.ended_by.and_then(|index| watched.get(index)).map(|(_, meaning)| *meaning);
            self.take(flown);
            self.ideal += burning.exhaust_speed() * (before / self.mass()).ln();
            match ended {
                None => return Ok(Ended::Time),
                Some(Meaning::Caller(index)) => return Ok(Ended::Stop(index)),
                Some(Meaning::Dry) => self.stage(&burning)?,
                Some(Meaning::Fairing) => self.jettison()?,
                Some(Meaning::Set(setting)) => self.set(setting),
            }
        }
    }

    /// Flies without thrust until a time or one of at most two stops; a fairing leaves on the way.
    pub(super) fn coast(&mut self, until: f64, stops: &[Stop]) -> Result<Option<usize>, AscentError> {
        let craft = Craft { thrust: None, drag: self.drag };
        loop {
            let mut list: Vec<Stop> = stops.iter().take(2).copied().collect();
            let own = list.len();
            if let Some((_, quantity, crossing)) = self.fairing() {
                list.push(Stop::ending(quantity, crossing));
            }
            let flown = fly(self.around, &craft, self.point, until, TOLERANCE, &list, self.watch)?;
            let ended = flown.ended_by;
            self.take(flown);
            if ended == Some(own) {
                self.jettison()?;
            } else {
                return Ok(ended);
            }
        }
    }

    fn take(&mut self, flown: Flown) {
        self.point = flown.end;
        match &mut self.flown {
            Some(before) => before.join(flown),
            None => self.flown = Some(flown),
        }
    }

    /// The fairing that is still on, and what it leaves by.
    fn fairing(&self) -> Option<(Fairing, Quantity, Crossing)> {
        let fairings = self.vehicle.stages().iter().flat_map(|stage| &stage.equipment().fairings);
        let fairing = fairings
            .into_iter()
            .find(|fairing| fairing.altitude.is_some() || fairing.heat_flux.is_some() || fairing.leaves.is_none())?;
        Some(match (fairing.altitude, fairing.heat_flux) {
            (Some(height), _) => (fairing.clone(), Quantity::Height(height), Crossing::Rising),
            (None, flux) => (fairing.clone(), Quantity::HeatFlux(flux.unwrap_or(BARE)), Crossing::Falling),
        })
    }

    /// Throws off a fairing whose heating is below its figure already: one that never was above it.
    pub(super) fn bare_in_thin_air(&mut self) -> Result<(), AscentError> {
        while let Some((_, quantity, _)) = self.fairing() {
            let gone = match quantity {
                Quantity::HeatFlux(figure) => self.pressure() * self.air_velocity().norm() < figure,
                Quantity::Height(figure) => self.height() > figure,
                _ => false,
            };
            if !gone {
                break;
            }
            self.jettison()?;
        }
        Ok(())
    }

    fn jettison(&mut self) -> Result<(), AscentError> {
        let Some((fairing, _, _)) = self.fairing() else { return Ok(()) };
        let now = self.vehicle_now();
        let without = now.without(&fairing.name)?;
        let part = Left { name: fairing.name, number: fairing.segments, mass: now.mass() - without.mass() };
        self.drop(part, &now)?;
        self.begin(without)
    }

    /// A tank is empty: what is empty leaves, what is next burns.
    fn stage(&mut self, burned: &Powered) -> Result<(), AscentError> {
        let empty = self.vehicle.burned(burned.propellant);
        let (next, left) = empty.staged();
        self.events.push(Event { time: self.time(), what: format!("{} burned out", burned.stage) });
        for part in left {
            self.drop(part, &empty)?;
        }
        self.setting = Setting::Full;
        // What burned beside the empty stage burns on.
        let taking_over = next.powered()?.map(|phase| phase.burning).unwrap_or_default();
        let fresh: Vec<String> = taking_over.into_iter().filter(|name| !burned.burning.contains(name)).collect();
        self.begin(lit(&next, &fresh)?)?;
        if let Some(burning) = &self.burning {
            self.phases.push((burning.stage.clone(), self.point.time));
        }
        Ok(())
    }

    fn drop(&mut self, part: Left, whole: &Vehicle) -> Result<(), AscentError> {
        self.events.push(Event { time: self.time(), what: format!("{} dropped", part.name) });
        let vehicle = whole.left_alone(&part.name)?;
        self.drops.push(Drop { part, vehicle, time: self.time(), state: self.state() });
        Ok(())
    }

    /// Goes on with a vehicle whose parts have left.
    fn begin(&mut self, vehicle: Vehicle) -> Result<(), AscentError> {
        let mut all = phases(&vehicle)?.into_iter();
        self.burning = all.next();
        self.coming = all.collect();
        self.point.velocity[3] = vehicle.mass();
        self.vehicle = vehicle;
        Ok(())
    }

    /// The limits of load and dynamic pressure, as far as the engines can be set.
    fn watch_limits(&self, burning: &Powered, watched: &mut Vec<(Stop, Meaning)>) {
        let mut add = |quantity, crossing, setting| {
            watched.push((Stop::ending(quantity, crossing), Meaning::Set(setting)));
        };
        let (least, most) = burning.throttle;
        if least >= 1.0 {
            return;
        }
        match (self.setting, self.settings.max_acceleration) {
            (Setting::Full | Setting::HoldsPressure, Some(figure)) => {
                add(Quantity::Felt(figure), Crossing::Rising, Setting::HoldsAcceleration(figure));
            }
            (Setting::HoldsAcceleration(_), _) => add(Quantity::Share(least), Crossing::Falling, Setting::Least),
            _ => {}
        }
        match (self.setting, self.settings.max_dynamic_pressure) {
            (Setting::Full, Some(figure)) => {
                add(Quantity::DynamicPressure(figure), Crossing::Rising, Setting::HoldsPressure);
            }
            (Setting::HoldsPressure, Some(_)) => {
                add(Quantity::Share(most.min(1.0)), Crossing::Rising, Setting::Full);
                add(Quantity::Share(least), Crossing::Falling, Setting::Least);
            }
            (Setting::Least, Some(figure)) => {
                add(Quantity::DynamicPressure(figure), Crossing::Falling, Setting::Full);
            }
            _ => {}
        }
    }

    fn set(&mut self, setting: Setting) {
        self.setting = setting;
        let what = match setting {
            Setting::Full => "engines at full thrust",
            Setting::Least => "engines at their least thrust",
            Setting::HoldsAcceleration(_) => "throttled for acceleration",
            Setting::HoldsPressure => "throttled for dynamic pressure",
        };
        self.note(what);
    }

    /// What is foreseen to burn from now on.
    pub(super) fn foreseen(&self) -> Vec<Stretch> {
        let mut stretches = Vec::with_capacity(2 + 2 * self.coming.len());
        let Some(burning) = &self.burning else { return stretches };
        let dry = self.vehicle.mass() - burning.propellant;
        self.foresee(burning, self.mass(), dry, &mut stretches);
        for phase in &self.coming {
            self.foresee(phase, phase.mass, phase.mass - phase.propellant, &mut stretches);
        }
        stretches
    }

    /// One phase from a mass to another, kg: at full thrust until the greatest acceleration, held there, at the least thrust after that.
    fn foresee(&self, phase: &Powered, mut from: f64, to: f64, stretches: &mut Vec<Stretch>) {
        let exhaust_speed = phase.exhaust_speed();
        let limit = self.settings.max_acceleration.filter(|_| phase.throttle.0 < 1.0);
        let Some(limit) = limit else { return constant(phase, from, to, 1.0, stretches) };
        let (held_from, held_to) = (phase.thrust / limit, phase.throttle.0 * phase.thrust / limit);
        constant(phase, from, to.max(held_from), 1.0, stretches);
        from = from.min(held_from.max(to));
        let end = to.max(held_to);
        if from > end {
            let duration = exhaust_speed / limit * (from / end).ln();
            stretches.push(Stretch { exhaust_speed, acceleration: limit, duration, held: true });
            from = end;
        }
        constant(phase, from, to, phase.throttle.0, stretches);
    }
}

/// Constant thrust at a share of the phase's, from a mass to a smaller one, kg; nothing where it is not smaller.
fn constant(phase: &Powered, from: f64, to: f64, share: f64, stretches: &mut Vec<Stretch>) {
    if from > to {
        let acceleration = share * phase.thrust / from;
        let duration = (from - to) / (share * phase.flow);
        stretches.push(Stretch { exhaust_speed: phase.exhaust_speed(), acceleration, duration, held: false });
    }
}

/// What a stop means.
#[derive(Debug, Clone, Copy)]
enum Meaning {
    Dry,
    Caller(usize),
    Fairing,
    Set(Setting),
}
