//! Frames and the rotations between them: inertial, body-fixed, TNW, RTN, B-plane.
