//! The universal functions: one set of formulas for ellipse, parabola, hyperbola and straight line.

/// The universal functions U0 to U3 of α and s: integrals of one another, U0 = cos(√α s) on ellipses. [Battin1999], section 4.5.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Universal {
    pub(crate) u0: f64,
    pub(crate) u1: f64,
    pub(crate) u2: f64,
    pub(crate) u3: f64,
}

/// Largest |α s²| that the series below takes: the first term left out is then below 1e-17 of the sum.
const SERIES_LIMIT: f64 = 0.62;

impl Universal {
    /// The functions at `s` for `alpha`; α s² may have either sign.
    ///
    /// The argument is halved until eight terms of the series suffice, then doubled back by identities whose terms all
    /// have one sign in U1, U2 and U3 up to a half turn, so that nothing cancels where x − sin x would. No library
    /// call: the same bits on every machine.
    #[inline]
    pub(crate) fn at(alpha: f64, s: f64) -> Self {
        let mut psi = alpha * s * s;
        let mut s = s;
        let mut doublings = 0u32;
        while psi.abs() > SERIES_LIMIT && doublings < 600 {
            psi *= 0.25;
            s *= 0.5;
            doublings += 1;
        }
        let c2 = 1.0 / 2.0
            - psi
                * (1.0 / 24.0
                    - psi
                        * (1.0 / 720.0
                            - psi
                                * (1.0 / 40320.0
                                    - psi
                                        * (1.0 / 3628800.0
                                            - psi
                                                * (1.0 / 479001600.0
                                                    - psi * (1.0 / 87178291200.0 - psi / 20922789888000.0))))));
        let c3 = 1.0 / 6.0
            - psi
                * (1.0 / 120.0
                    - psi
                        * (1.0 / 5040.0
                            - psi
                                * (1.0 / 362880.0
                                    - psi
                                        * (1.0 / 39916800.0
                                            - psi
                                                * (1.0 / 6227020800.0
                                                    - psi * (1.0 / 1307674368000.0 - psi / 355687428096000.0))))));
        let square = s * s;
        let mut u = Self { u0: 1.0 - psi * c2, u1: s * (1.0 - psi * c3), u2: square * c2, u3: square * s * c3 };
        for _ in 0..doublings {
            let u2 = 2.0 * u.u1 * u.u1;
            u = Self { u0: 1.0 - alpha * u2, u1: 2.0 * u.u0 * u.u1, u2, u3: 2.0 * (u.u3 + u.u1 * u.u2) };
        }
        u
    }

    /// The functions at s + `ds`, for a step so small that its fifth power does not show.
    #[inline]
    pub(crate) fn moved(self, alpha: f64, ds: f64) -> Self {
        let Self { u0, u1, u2, u3 } = self;
        let (half, third) = (0.5 * ds, ds / 3.0);
        // Derivatives: U3' = U2, U2' = U1, U1' = U0, U0' = −α U1.
        let a1 = -alpha * u1;
        let a2 = -alpha * u0;
        Self {
            u0: u0 + ds * (a1 + half * (a2 - third * alpha * a1)),
            u1: u1 + ds * (u0 + half * (a1 + third * a2)),
            u2: u2 + ds * (u1 + half * (u0 + third * a1)),
            u3: u3 + ds * (u2 + half * (u1 + third * u0)),
        }
    }
}
