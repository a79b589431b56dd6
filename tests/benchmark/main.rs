//! The inputs of the benchmarks have the bits that their references were computed for.

#[allow(dead_code, unreachable_pub, reason = "the benches use what this test does not")]
mod inputs;

use inputs::{
    KEPLER_EQUATION_SEED, KEPLER_PROPAGATION_SEED, LAMBERT_MULTIREV_SEED, LAMBERT_SEED, kepler_equation,
    kepler_propagation, lambert, uniform,
};

/// First, last and sum of the bit patterns, as the second implementation in another language printed them.
fn check(name: &str, values: impl Iterator<Item = f64>, first: u64, last: u64, sum: u64) {
    let (mut total, mut start, mut end) = (0_u64, None, 0);
    for value in values {
        end = value.to_bits();
        start.get_or_insert(end);
        total = total.wrapping_add(end);
    }
    assert_eq!((start, end, total), (Some(first), last, sum), "{name}");
}

#[test]
fn inputs_have_the_published_bits() {
    let n = 1_000_000;
    let numbers = (1..=1000).map(|k| uniform(1, k));
    check("uniform", numbers, 0x3fe22145bd91204b, 0x3fece3129636a069, 0x5f05566e7acb103a);
    let item = |i| kepler_equation(KEPLER_EQUATION_SEED, i);
    check("e", (0..n).map(|i| item(i).0), 0x3fefcb6c7c0b96f7, 0x3fdc145884f84596, 0x66f69487d668f1ab);
    check("M", (0..n).map(|i| item(i).1), 0xc00844c3721074a3, 0x400714b48080f8ae, 0x3eed6cbedc984f93);
    let item = |i| kepler_propagation(KEPLER_PROPAGATION_SEED, i);
    check("r", (0..n).flat_map(|i| item(i).0), 0x3ffa7258a9dcaa96, 0x400b035469658e09, 0x1cdeb5f74a818467);
    check("v", (0..n).flat_map(|i| item(i).1), 0x3ff0eaafbc47b0e8, 0xbfde60aaa62677c7, 0x153ddfe8631d58ea);
    check("dt", (0..n).map(|i| item(i).2), 0x4015e3f5ae1e41e1, 0xc054a314a49eef5c, 0x9f4cad432c2aaf9f);
    let item = |i| lambert(LAMBERT_SEED, i, false);
    check("r1", (0..n).flat_map(|i| item(i).0), 0xbfe586d377a8e3cf, 0xbfdc124ada6f6580, 0xf77a5a4f9037c5b5);
    check("r2", (0..n).flat_map(|i| item(i).1), 0xbfd3b99d613fea28, 0x3fb2bb6854d40d74, 0x7bcfda6117c3dac0);
    check("time", (0..n).map(|i| item(i).2), 0x40109680c5cf99b5, 0x3fed00dc7f7bbcae, 0x5f8195238a317824);
    let n = 100_000;
    let item = |i| lambert(LAMBERT_MULTIREV_SEED, i, true);
    check("multi r1", (0..n).flat_map(|i| item(i).0), 0xbff5995b3551e42b, 0x3fe9eb74ac410a00, 0x533f5ef3cc0d44d5);
    check("multi r2", (0..n).flat_map(|i| item(i).1), 0xbfeeee345ac9af3e, 0x3fbb72850606f24c, 0xca9b9a06251fc006);
    check("multi time", (0..n).map(|i| item(i).2), 0x40471f9297e6b759, 0x404d3b3d42a25d2b, 0x2e7b531b81f78d37);
    check("multi revolutions", (0..n).map(|i| item(i).3), 0x4008000000000000, 0x4000000000000000, 0x8930000000000000);
}
