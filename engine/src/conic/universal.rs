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
    #[inline(always)]
    pub(crate) fn at(alpha: f64, s: f64) -> Self {
        let psi = alpha * s * s;
        if psi.abs() <= Self::NEAR { Self::near(alpha, s) } else { Self::far(alpha, s) }
    }

    /// Largest |α s²| for `near`.
    pub(crate) const NEAR: f64 = 16.0 * SERIES_LIMIT;

    /// The same for |α s²| up to a whole revolution's, without a branch.
    #[inline(always)]
    pub(crate) fn near(alpha: f64, s: f64) -> Self {
        // Two halvings reach a whole revolution; to take them always spares the processor a guess.
        Self::series(0.0625 * (alpha * s * s), 0.25 * s).doubled(alpha).doubled(alpha)
    }

    /// The same for any argument.
    #[cold]
    fn far(alpha: f64, s: f64) -> Self {
        let (mut psi, mut s) = (alpha * s * s, s);
        let mut doublings = 0u32;
        while psi.abs() > SERIES_LIMIT && doublings < 600 {
            psi *= 0.25;
            s *= 0.5;
            doublings += 1;
        }
        let mut u = Self::series(psi, s);
        for _ in 0..doublings {
            u = u.doubled(alpha);
        }
        u
    }

    /// The functions for |ψ| = |α s²| within the reach of the polynomials.
    #[inline(always)]
    fn series(psi: f64, s: f64) -> Self {
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
        Self { u0: 1.0 - psi * c2, u1: s * (1.0 - psi * c3), u2: square * c2, u3: square * s * c3 }
    }

    /// The functions at twice the argument.
    #[inline(always)]
    fn doubled(self, alpha: f64) -> Self {
        let u2 = 2.0 * self.u1 * self.u1;
        Self { u0: 1.0 - alpha * u2, u1: 2.0 * self.u0 * self.u1, u2, u3: 2.0 * (self.u3 + self.u1 * self.u2) }
    }

    /// The functions at s + `ds`, for a step with |α ds²| up to 1e-3.
    #[inline(always)]
    pub(crate) fn moved(self, alpha: f64, ds: f64) -> Self {
        let Self { u0, u1, u2, u3 } = self;
        // Three terms of each series leave less than 1e-16 of the step; then the sum of two arguments.
        let square = ds * ds;
        let psi = alpha * square;
        let d2 = square * (0.5 - psi * (1.0 / 24.0 - psi * (1.0 / 720.0)));
        let d3 = square * ds * (1.0 / 6.0 - psi * (1.0 / 120.0 - psi * (1.0 / 5040.0)));
        let d1 = ds - alpha * d3;
        Self {
            u0: u0 - alpha * (u0 * d2 + u1 * d1),
            u1: u1 + (u0 * d1 - alpha * u1 * d2),
            u2: u2 + (u1 * d1 + u0 * d2),
            u3: u3 + (d3 + u1 * d2 + u2 * d1),
        }
    }
}
