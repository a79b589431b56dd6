//! Vectors and matrices of the inertial world: three components, SI.

/// Three components, in the unit and frame that the owner states.
pub type Vec3 = nalgebra::Vector3<f64>;

/// A three by three matrix, mostly a rotation.
pub type Mat3 = nalgebra::Matrix3<f64>;
