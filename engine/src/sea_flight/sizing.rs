//! Sizing a diver: ballast or drag for a wanted speed of contact, stroke and energy of its legs.

use super::SeaFlightError;
use super::diver::Diver;
use crate::numerics::root;
use crate::system::Sea;

impl Diver {
    /// Ballast with which it meets the floor at a speed, kg: where its terminal speed is that.
    ///
    /// - `floor`: m; `speed`: m/s; `most`: greatest ballast, kg.
    ///
    /// # Errors
    /// Figures that are none, a floor outside of the sea, no ballast up to the greatest that does it.
    pub fn ballast_for_contact(&self, sea: &Sea, floor: f64, speed: f64, most: f64) -> Result<f64, SeaFlightError> {
        self.on_floor(sea, floor, speed)?;
        let over = |ballast: f64| {
            let body = Self { ballast, ..self.clone() };
            body.terminal_speed(sea, floor, true, 0.0) - speed
        };
        root::bracketed(over, 0.0, most, 1e-9 * most).map_err(|_| SeaFlightError::NoSizing {
            what: "ballast in kg",
            low: 0.0,
            high: most,
        })
    }

    /// Factor on its frontal areas with which it meets the floor at a speed, with the ballast it has.
    ///
    /// # Errors
    /// As [`Diver::ballast_for_contact`]; a body too light to sink.
    pub fn area_for_contact(&self, sea: &Sea, floor: f64, speed: f64) -> Result<f64, SeaFlightError> {
        self.on_floor(sea, floor, speed)?;
        let (density, net) = (sea.density(floor), self.net_weight(sea, floor, true));
        let reynolds = density * speed * self.along.diameter / sea.viscosity(floor);
        let held = 0.5 * density * speed * speed * self.along.area * self.along.law.coefficient(reynolds);
        if net > 0.0 {
            return Ok(net / held);
        }
        Err(SeaFlightError::Figure { what: "weight less buoyancy on the floor in N", value: net, needs: "positive" })
    }

    fn on_floor(&self, sea: &Sea, floor: f64, speed: f64) -> Result<(), SeaFlightError> {
        self.check()?;
        if !(speed > 0.0 && speed.is_finite()) {
            return Err(SeaFlightError::Figure {
                what: "the speed of contact in m/s",
                value: speed,
                needs: "positive",
            });
        }
        let (_, to_m) = sea.depth();
        if (0.0..=to_m).contains(&floor) {
            return Ok(());
        }
        Err(SeaFlightError::Depth { depth_m: floor, from_m: 0.0, to_m })
    }

    /// What its legs must do.
    ///
    /// - `speed`: of contact, m/s; `deceleration`: mean over the stroke, m/s².
    ///
    /// # Errors
    /// Figures that are none.
    ///
    /// # Source
    /// Work and energy: the stroke v²/(2 a) stops the body with the water moved along; the legs take its kinetic energy and the net weight over the stroke.
    pub fn legs_for(&self, sea: &Sea, floor: f64, speed: f64, deceleration: f64) -> Result<LegStroke, SeaFlightError> {
        self.on_floor(sea, floor, speed)?;
        if !(deceleration > 0.0 && deceleration.is_finite()) {
            let what = "the deceleration in m/s²";
            return Err(SeaFlightError::Figure { what, value: deceleration, needs: "positive" });
        }
        let displaced = sea.density(floor) * self.displaced(sea.pressure(floor), true);
        let moved = self.laden(true) + self.along.added_mass * displaced;
        let stroke = speed * speed / (2.0 * deceleration);
        let energy = 0.5 * moved * speed * speed + self.net_weight(sea, floor, true).max(0.0) * stroke;
        Ok(LegStroke { stroke, energy, force: energy / stroke })
    }
}

/// What legs must do.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LegStroke {
    /// m.
    pub stroke: f64,
    /// Taken by all legs, J.
    pub energy: f64,
    /// Mean force of all legs, N.
    pub force: f64,
}
