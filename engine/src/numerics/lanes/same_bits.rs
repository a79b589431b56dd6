//! Every operation gives the same bits on every width.

use proptest::prelude::*;

use super::{Kernel, Lane, Mask, Pair, Width, at_width, single};

/// Applies every operation to the numbers of three lists, and writes what comes out.
struct Everything<'a> {
    a: &'a [f64],
    b: &'a [f64],
    c: &'a [f64],
}

impl Kernel for Everything<'_> {
    type Answer = Vec<Vec<f64>>;

    #[inline(always)]
    fn run<L: Lane>(self) -> Vec<Vec<f64>> {
        let mut answers = Vec::new();
        let mut i = 0;
        while i < self.a.len() {
            let (a, b, c) = (L::load(&self.a[i..]), L::load(&self.b[i..]), L::load(&self.c[i..]));
            let truth = |mask| L::select(mask, L::splat(1.0), L::splat(0.0));
            let all = [
                a + b,
                a - b,
                a * b,
                a / b,
                -a,
                a + 3.1,
                a - 3.1,
                a * 3.1,
                a.mul_add(b, c),
                a.neg_mul_add(b, c),
                a.mul_sub(b, c),
                a.abs().sqrt(),
                a.abs(),
                a.min(b),
                a.max(b),
                a.copysign(b),
                a.round(),
                truth(a.less(b)),
                truth(a.at_most(b)),
                truth(a.equal(b)),
                truth(a.more(b)),
                truth(a.is_finite()),
                truth(a.less(b) & b.less(c)),
                truth(a.less(b) | b.less(c)),
                truth(!a.less(b)),
                L::select(a.less(b), a, c),
                a.and_bits(0x000f_ffff_ffff_ffff).or_bits(0x3ff0_0000_0000_0000),
                a.and_bits(0x000f_ffff_ffff_ffff).add_bits(0x3fe6_a09e_667f_3bcd),
                a.and_bits(0x7fff_ffff_ffff_ffff).shift_bits_down::<52>().or_bits(0x4330_0000_0000_0000),
                a.and_bits(0x0000_0000_0000_07ff).shift_bits_up::<40>(),
                a.polynomial([1.0, 0.5, -0.25, 0.125]),
            ];
            for (k, value) in all.into_iter().enumerate() {
                if answers.len() <= k {
                    answers.push(vec![0.0; self.a.len()]);
                }
                value.store(&mut answers[k][i..]);
            }
            let mask = a.less(b);
            assert_eq!(mask.any(), mask.bits() != 0);
            assert_eq!(mask.all(), mask.bits().count_ones() as usize == L::ITEMS);
            for k in 0..L::ITEMS {
                assert_eq!(mask.bits() >> k & 1 == 1, self.a[i + k] < self.b[i + k]);
            }
            i += L::ITEMS;
        }
        answers
    }
}

/// The same, two lanes as one.
struct Twice<'a>(Everything<'a>);

impl Kernel for Twice<'_> {
    type Answer = Vec<Vec<f64>>;

    #[inline(always)]
    fn run<L: Lane>(self) -> Vec<Vec<f64>> {
        self.0.run::<Pair<L>>()
    }
}

fn bits(answers: Vec<Vec<f64>>) -> Vec<Vec<u64>> {
    // All numbers that are none are alike: they reach no answer.
    let plain = |x: f64| if x.is_nan() { f64::NAN.to_bits() } else { x.to_bits() };
    answers.into_iter().map(|row| row.into_iter().map(plain).collect()).collect()
}

fn lists() -> impl Strategy<Value = [Vec<f64>; 3]> {
    let number = prop_oneof![
        4 => -10.0..10.0,
        2 => any::<f64>(),
        1 => prop::sample::select(vec![0.0, -0.0, 1.0, 0.5, 1.5, 2.5, -2.5, f64::INFINITY, f64::NAN, 4e-324, 1e308]),
    ];
    let list = prop::collection::vec(number, 32);
    [list.clone(), list.clone(), list]
}

proptest! {
    #[test]
    fn every_operation_on_every_width([a, b, c] in lists()) {
        let work = || Everything { a: &a, b: &b, c: &c };
        let alone = bits(single(work()));
        for width in Width::ALL {
            prop_assert_eq!(&bits(at_width(width, work())), &alone, "{:?}", width);
            prop_assert_eq!(&bits(at_width(width, Twice(work()))), &alone, "{:?}, in pairs", width);
        }
    }
}

#[test]
fn the_plain_width_is_always_here() {
    assert!(Width::Plain.is_here() && Width::widest().is_here());
}
