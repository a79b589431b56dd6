//! What a body does to whatever moves near it.

use super::{Gravity, Ground};
use crate::system::{Body, Layer};
use crate::time::Epoch;
use crate::vector::Vec3;

/// A body's gravity, ground, rotation and air, in inertial axes of its centre; its pole stands still.
#[derive(Clone, Debug, PartialEq)]
pub struct Surroundings {
    /// Its attraction.
    pub gravity: Gravity,
    /// Its ground.
    pub ground: Ground,
    /// Its angular velocity, rad/s: the air turns with it.
    pub turning: Vec3,
    layers: Vec<Layer>,
}

impl Surroundings {
    /// Of a body, at an epoch.
    pub fn of(body: &Body, epoch: Epoch) -> Self {
        Self {
            gravity: Gravity::of(body, epoch),
            ground: Ground::of(body, epoch),
            turning: body.angular_velocity(epoch),
            layers: body.air().map_or_else(Vec::new, crate::system::Air::layers),
        }
    }

    /// Of a point of mass, m³/s²: height is the distance from it.
    pub fn point(gm: f64) -> Self {
        Self { gravity: Gravity::point(gm), ground: Ground::sphere(0.0), turning: Vec3::zeros(), layers: Vec::new() }
    }

    /// The same with the gravity of a point: what conics know of it.
    pub fn spherical(self) -> Self {
        Self { gravity: self.gravity.spherical(), ..self }
    }

    /// The same without air.
    pub fn airless(self) -> Self {
        Self { layers: Vec::new(), ..self }
    }

    /// The air in smooth pieces, from the lowest to the highest; none without air.
    pub fn layers(&self) -> &[Layer] {
        &self.layers
    }

    /// Height above which there is no air, m; none without air.
    pub fn ceiling(&self) -> Option<f64> {
        self.layers.last().map(Layer::end)
    }

    /// Height of a place above the ground's ellipsoid, m.
    pub fn height(&self, place: &Vec3) -> f64 {
        self.ground.above::<f64>(&(*place).into()).0
    }

    /// Direction of the ground's normal at a place.
    pub fn up(&self, place: &Vec3) -> Vec3 {
        self.ground.above::<f64>(&(*place).into()).1.into()
    }

    /// Velocity of the air, and of the ground, at a place, m/s.
    pub fn air_velocity(&self, place: &Vec3) -> Vec3 {
        self.turning.cross(place)
    }

    /// Which piece of the air a height is in, the upper one at an edge; none above the ceiling.
    pub(in crate::motion) fn layer_at(&self, height: f64) -> Option<usize> {
        let index = self.layers.partition_point(|layer| layer.end() <= height);
        (index < self.layers.len()).then_some(index)
    }

    /// Density at a height, kg/m³; zero above the ceiling.
    pub fn density(&self, height: f64) -> f64 {
        self.layer_at(height).map_or(0.0, |index| self.layers[index].density_at(height))
    }

    /// Pressure at a height, Pa; zero above the ceiling.
    pub fn pressure(&self, height: f64) -> f64 {
        self.layer_at(height).map_or(0.0, |index| self.layers[index].pressure_logarithm(height).exp())
    }
}
