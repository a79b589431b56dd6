//! Lagrange's function of one anomaly near the parabola: polynomials in place of a closed form that would lose its digits.
//!
//! `Q = (1 + u) B(u)` with `u = tan²(φ/2)`; see the time of flight for what they are part of.

/// The polynomials are used for |u| up to this: cosines from 0.64 to 1.56.
pub(super) const SERIES_REACH: f64 = 0.22;

/// `B(u)` by the polynomial through 14 of Chebyshev's nodes (fitted with 60 digits to the series above), off by less than 4e-17.
/// Summed in pairs so that the processor need not wait for each product.
#[inline(always)]
fn series(u: f64, u2: f64, u4: f64) -> f64 {
    let p0 = (0.6666666666666666 + 0.13333333333333333 * u) + (-0.019047619047604412 + 0.0063492063491943414 * u) * u2;
    let p1 = (-0.0028860028908107133 + 0.0015540015579461287 * u)
        + (-0.0009324003411348621 + 0.0006033177653131281 * u) * u2;
    let p2 = (-0.00041283123271618926 + 0.00029488311192851156 * u)
        + (-0.0002169057399117047 + 0.0001647864840640036 * u) * u2;
    let p3 = -0.0001438878292195069 + 0.00011451716737797387 * u;
    (p0 + p1 * u4) + (p2 + p3 * u4) * (u4 * u4)
}

/// `dB/du` likewise, through 12 nodes, off by less than 2e-14: it steers the search and does not enter the answer.
#[inline(always)]
fn series_slope(u: f64, u2: f64, u4: f64) -> f64 {
    let p0 = (0.13333333333332376 - 0.03809523809522975 * u) + (0.019047619061815013 - 0.011544011556365025 * u) * u2;
    let p1 =
        (0.007770004372705796 - 0.0055944026381737665 * u) + (0.004223524238659808 - 0.0033026315497321863 * u) * u2;
    let p2 =
        (0.0026420561794207784 - 0.0021692381985199687 * u) + (0.0020299485204156547 - 0.0017267699081141177 * u) * u2;
    (p0 + p1 * u4) + p2 * (u4 * u4)
}

/// `Q` and `dQ/dcos` at a cosine inside the reach of the series.
#[inline(always)]
pub(super) fn near_parabola(cosine: f64) -> (f64, f64) {
    let u = (1.0 - cosine) / (1.0 + cosine);
    let u2 = u * u;
    let (u4, one) = (u2 * u2, 1.0 + u);
    let (value, slope) = (series(u, u2, u4), series_slope(u, u2, u4));
    (one * value, -0.5 * one * one * (value + one * slope))
}
