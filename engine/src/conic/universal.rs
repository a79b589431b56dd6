//! The universal functions: one set of formulas for ellipse, parabola, hyperbola and straight line.

/// The universal functions U0 to U3 of α and s: integrals of one another, U0 = cos(√α s) on ellipses. [Battin1999], section 4.5.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Universal {
    pub(crate) u0: f64,
    pub(crate) u1: f64,
    pub(crate) u2: f64,
    pub(crate) u3: f64,
}

/// Largest |α s²| that the polynomials below are fitted for.
const SERIES_LIMIT: f64 = 2.5;

impl Universal {
    /// The functions at `s` for `alpha`; α s² may have either sign.
    ///
    /// The argument is halved until nine terms suffice, then doubled back by identities whose terms all
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
        // Fitted at Chebyshev's nodes with 40 digits: (1 − cos x)/x² and (x − sin x)/x³ of x², off by less than 7e-18.
        let psi2 = psi * psi;
        let psi4 = psi2 * psi2;
        let c2 = ((0.5 - psi * 0.041666666666666644) + psi2 * (0.001388888888888889 - psi * 2.4801587301634342e-5))
            + psi4
                * ((2.7557319223996074e-7 - psi * 2.0876756716911215e-9)
                    + psi2 * (1.1470745539081868e-11 - psi * 4.7800553670519984e-14)
                    + psi4 * 1.5620458112566173e-16);
        let c3 = ((0.16666666666666666 - psi * 0.008333333333333331)
            + psi2 * (0.0001984126984126984 - psi * 2.7557319224008292e-6))
            + psi4
                * ((2.5052108385446147e-8 - psi * 1.6059043707795526e-10)
                    + psi2 * (7.647163706320878e-13 - psi * 2.81173250732874e-15)
                    + psi4 * 8.221179220162105e-18);
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
