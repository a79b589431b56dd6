//! Many states flown along their conics side by side: the same bits as one by one, and on every width.

use crate::conic::flight::{Arrival, Departure, along_conics, along_ellipses};
use crate::conic::propagate::alone;
use crate::conic::{ConicError, State};
use crate::numerics::lanes::{self, Kernel, Lane, MOST_ITEMS, Mask, Width};
use crate::vector::Vec3;

/// Flights in a block.
const BLOCK: usize = 256;

/// The end of each flight of a state through a time (s, either sign), given to `answer` with its number in the order of
/// `flights`.
///
/// The same bits and errors as [`propagate`](crate::conic::propagate()); `gm` in m³/s², above 0. A block of flights goes
/// through the lanes of the processor as along ellipses; those that are nothing of the kind are brought together and
/// searched for; the few that are left are flown alone.
#[inline]
pub fn propagate_batch(
    gm: f64,
    flights: impl IntoIterator<Item = (State, f64)>,
    answer: impl FnMut(usize, Result<State, ConicError>),
) {
    propagate_batch_at(Width::widest(), gm, flights, answer);
}

/// [`propagate_batch`] on lanes of a given width, to compare them; plain ones where the processor has not that width.
#[inline]
pub fn propagate_batch_at(
    width: Width,
    gm: f64,
    flights: impl IntoIterator<Item = (State, f64)>,
    mut answer: impl FnMut(usize, Result<State, ConicError>),
) {
    let mut flights = flights.into_iter();
    let mut columns = Columns::new();
    let mut first = 0;
    loop {
        let mut count = 0;
        for (state, dt) in flights.by_ref().take(BLOCK) {
            columns.set(count, &state, dt);
            count += 1;
        }
        if gm > 0.0 && gm.is_finite() {
            lanes::at_width(width, Many { gm, count, columns: &mut columns });
        }
        for i in 0..count {
            answer(first + i, if columns.flown[i] { Ok(columns.end(i)) } else { columns.alone(gm, i) });
        }
        first += count;
        if count < BLOCK {
            return;
        }
    }
}

/// The end of one flight, by the very operations of the batch; nothing where it is to be flown alone.
#[inline]
pub(super) fn one(gm: f64, state: &State, dt: f64) -> Option<State> {
    lanes::single(One { gm, state, dt })
}

/// A block of flights, each quantity in a column of its own.
struct Columns {
    given: [[f64; BLOCK]; 7],
    ends: [[f64; BLOCK]; 6],
    flown: [bool; BLOCK],
}

impl Columns {
    /// Circles of radius 1, so that the places no flight fills are flown at no cost.
    fn new() -> Columns {
        let mut given = [[0.0; BLOCK]; 7];
        (given[0], given[4], given[6]) = ([1.0; BLOCK], [1.0; BLOCK], [1.0; BLOCK]);
        Columns { given, ends: [[0.0; BLOCK]; 6], flown: [false; BLOCK] }
    }

    #[inline(always)]
    fn set(&mut self, i: usize, state: &State, dt: f64) {
        let State { position: r, velocity: v } = state;
        for (column, number) in self.given.iter_mut().zip([r[0], r[1], r[2], v[0], v[1], v[2], dt]) {
            column[i] = number;
        }
    }

    #[inline(always)]
    fn end(&self, i: usize) -> State {
        state(&self.ends, i)
    }

    #[cold]
    fn alone(&self, gm: f64, i: usize) -> Result<State, ConicError> {
        let [x, y, z, u, v, w, dt] = self.given;
        alone(gm, &state(&[x, y, z, u, v, w], i), dt[i])
    }
}

#[inline(always)]
fn state<const N: usize>(c: &[[f64; N]; 6], i: usize) -> State {
    State::new(Vec3::new(c[0][i], c[1][i], c[2][i]), Vec3::new(c[3][i], c[4][i], c[5][i]))
}

#[inline(always)]
fn departure<L: Lane, const N: usize>(c: &[[f64; N]; 7], i: usize) -> Departure<L> {
    Departure {
        place: [L::load(&c[0][i..]), L::load(&c[1][i..]), L::load(&c[2][i..])],
        velocity: [L::load(&c[3][i..]), L::load(&c[4][i..]), L::load(&c[5][i..])],
        time: L::load(&c[6][i..]),
    }
}

#[inline(always)]
fn store<L: Lane, const N: usize>(arrival: &Arrival<L>, ends: &mut [[f64; N]; 6], i: usize) {
    let mut k = 0;
    while k < 3 {
        arrival.place[k].store(&mut ends[k][i..]);
        arrival.velocity[k].store(&mut ends[3 + k][i..]);
        k += 1;
    }
}

struct Many<'a> {
    gm: f64,
    count: usize,
    columns: &'a mut Columns,
}

impl Kernel for Many<'_> {
    type Answer = ();

    #[inline(always)]
    fn run<L: Lane>(self) {
        let Many { gm, count, columns } = self;
        let mut others = [0; BLOCK + MOST_ITEMS];
        let mut many = 0;
        let mut i = 0;
        while i < count {
            let arrival = along_ellipses::<L>(gm, &departure(&columns.given, i));
            store(&arrival, &mut columns.ends, i);
            let bits = arrival.flown.bits();
            let mut k = 0;
            while k < L::ITEMS {
                let flown = bits >> k & 1 == 1;
                columns.flown[i + k] = flown;
                // Written always and counted when it counts: no branch to guess.
                others[many] = i + k;
                many += usize::from(!flown && i + k < count);
                k += 1;
            }
            i += L::ITEMS;
        }
        search_others::<L::Twin>(gm, columns, &others[..many]);
    }
}

/// Flies those that are listed, brought together in full lanes.
#[inline(always)]
fn search_others<L: Lane>(gm: f64, columns: &mut Columns, others: &[usize]) {
    let many = others.len();
    let mut j = 0;
    while j < many {
        let mut given = [[0.0; MOST_ITEMS]; 7];
        let mut k = 0;
        while k < L::ITEMS {
            // The last one once more in the places that are left.
            let from = others[(j + k).min(many - 1)];
            let mut c = 0;
            while c < 7 {
                given[c][k] = columns.given[c][from];
                c += 1;
            }
            k += 1;
        }
        let arrival = along_conics::<L>(gm, &departure(&given, 0));
        let mut ends = [[0.0; MOST_ITEMS]; 6];
        store(&arrival, &mut ends, 0);
        let bits = arrival.flown.bits();
        let mut k = 0;
        while k < L::ITEMS {
            if bits >> k & 1 == 1 {
                let to = others[(j + k).min(many - 1)];
                columns.flown[to] = true;
                let mut c = 0;
                while c < 6 {
                    columns.ends[c][to] = ends[c][k];
                    c += 1;
                }
            }
            k += 1;
        }
        j += L::ITEMS;
    }
}

struct One<'a> {
    gm: f64,
    state: &'a State,
    dt: f64,
}

impl Kernel for One<'_> {
    type Answer = Option<State>;

    #[inline(always)]
    fn run<L: Lane>(self) -> Option<State> {
        let State { position: r, velocity: v } = self.state;
        let departure = Departure {
            place: [L::splat(r[0]), L::splat(r[1]), L::splat(r[2])],
            velocity: [L::splat(v[0]), L::splat(v[1]), L::splat(v[2])],
            time: L::splat(self.dt),
        };
        let mut arrival = along_ellipses(self.gm, &departure);
        if !arrival.flown.all() {
            arrival = along_conics(self.gm, &departure);
        }
        if !arrival.flown.all() {
            return None;
        }
        let mut ends = [[0.0; MOST_ITEMS]; 6];
        store(&arrival, &mut ends, 0);
        Some(state(&ends, 0))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::conic::propagate;

    #[test]
    fn company_and_width_change_no_bit() {
        let mut flights: Vec<(State, f64)> = (0..5000_u32)
            .map(|i| {
                // Steps that share no period with one another, so that the combinations differ.
                let part = |step: f64| (f64::from(i) * step).fract();
                let position = Vec3::new(1.0, part(0.324_717_957_244_746) - 0.5, 0.2);
                let velocity = Vec3::new(part(0.618_033_988_749_895) - 0.5, 1.7 * part(0.754_877_666_246_693), 0.1);
                (State::new(position, velocity), 200.0 * (part(0.569_840_290_998_053) - 0.5).powi(3))
            })
            .collect();
        for (i, dt) in [f64::NAN, f64::INFINITY, 0.0, 1e300, 1e-300].into_iter().enumerate() {
            flights[100 * i + 7].1 = dt;
        }
        flights[1000].0.position = Vec3::zeros();
        flights[1001].0.velocity = Vec3::new(f64::NAN, 0.0, 0.0);
        flights[1002].0.velocity = Vec3::new(0.0, 1e200, 0.0);
        for gm in [1.0, 0.3, -1.0] {
            let (mut met, mut good) = (0, 0);
            for width in Width::ALL {
                propagate_batch_at(width, gm, flights.iter().copied(), |i, end| {
                    let alone = propagate(gm, &flights[i].0, flights[i].1);
                    good += usize::from(alone.is_ok());
                    assert_eq!(format!("{end:?}"), format!("{alone:?}"), "{i} {:?}, {width:?}", flights[i]);
                    met += 1;
                });
            }
            assert_eq!(met, 3 * flights.len());
            assert!(gm < 0.0 || good > 3 * 4900, "{good}");
        }
    }
}
