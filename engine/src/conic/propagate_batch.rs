//! Many states flown along their conics side by side: the same bits as one by one, and on every width.

use crate::conic::flight::{Arrival, Departure, along_conics, along_ellipses};
use crate::conic::propagate::alone;
use crate::conic::{ConicError, State};
use crate::numerics::lanes::{self, Kernel, Lane, MOST_ITEMS, Mask, Width};
use crate::vector::Vec3;

/// Flights in a block: what it reads and writes stays near the processor, and its odd ones fill some lanes.
const BLOCK: usize = 512;

/// Flights that [`propagate_batch`] copies at a time.
const COPIED: usize = 256;

/// The end of each flight of a state through a time (s, either sign), given to `answer` with its number in the order of
/// `flights`.
///
/// The same bits and errors as [`propagate`](crate::conic::propagate()); `gm` in m³/s², above 0. Who has the numbers in
/// columns gets the answers sooner from [`propagate_columns`], by which this is done block by block.
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
    let (mut given, mut ends) = ([[0.0; COPIED]; 7], [[0.0; COPIED]; 6]);
    let mut first = 0;
    loop {
        let mut count = 0;
        for (State { position: r, velocity: v }, dt) in flights.by_ref().take(COPIED) {
            for (column, number) in given.iter_mut().zip([r[0], r[1], r[2], v[0], v[1], v[2], dt]) {
                column[count] = number;
            }
            count += 1;
        }
        let mut refusals = Vec::new();
        let filled = given.each_ref().map(|column| &column[..count]);
        propagate_columns_at(width, gm, filled, ends.each_mut().map(|column| &mut column[..count]), |i, error| {
            refusals.push((i, error));
        });
        // Most blocks have no refusal, and a loop that looks for none is sooner done.
        let mut next = 0;
        for (refused, error) in refusals {
            for i in next..refused {
                answer(first + i, Ok(state(&ends, i)));
            }
            answer(first + refused, Err(error));
            next = refused + 1;
        }
        for i in next..count {
            answer(first + i, Ok(state(&ends, i)));
        }
        first += count;
        if count < COPIED {
            return;
        }
    }
}

/// Flies every state of `given` and writes where it comes to in `ends`: the whole batch in columns, at the speed of the
/// lanes.
///
/// `given`: x, y, z (m), their rates (m/s) and times of flight (s, either sign); `ends`: x, y, z and their rates. Columns
/// of one length; what is beyond the shortest stays as it is. `gm` in m³/s², above 0. The same bits and errors as
/// [`propagate`](crate::conic::propagate()). A flight without an answer leaves six zeros, which no flight ends in, and
/// its number goes to `refused` with the reason, in rising order.
///
/// # Source
/// As [`propagate`](crate::conic::propagate()).
///
/// # Example
/// Circles of radius 1 and 4 through a quarter of the smaller one; a third flight starts at the centre.
/// ```
/// use visviva_engine::conic::propagate_columns;
/// let (none, quarter) = ([0.0; 3], [std::f64::consts::FRAC_PI_2; 3]);
/// let given = [&[1.0, 4.0, 0.0][..], &none, &none, &none, &[1.0, 0.5, 0.0], &none, &quarter];
/// let mut ends = [[0.0; 3]; 6];
/// let mut refused = Vec::new();
/// propagate_columns(1.0, given, ends.each_mut().map(|column| &mut column[..]), |i, _| refused.push(i));
/// assert!(ends[0][0].abs() < 1e-15 && (ends[1][0] - 1.0).abs() < 1e-15);
/// assert!((ends[0][1] - 4.0 * (std::f64::consts::PI / 16.0).cos()).abs() < 1e-14);
/// assert_eq!(refused, [2]);
/// ```
pub fn propagate_columns(gm: f64, given: [&[f64]; 7], ends: [&mut [f64]; 6], refused: impl FnMut(usize, ConicError)) {
    propagate_columns_at(Width::widest(), gm, given, ends, refused);
}

/// [`propagate_columns`] on lanes of a given width, to compare them; plain ones where the processor has not that width.
pub fn propagate_columns_at(
    width: Width,
    gm: f64,
    given: [&[f64]; 7],
    mut ends: [&mut [f64]; 6],
    mut refused: impl FnMut(usize, ConicError),
) {
    let count = given.iter().map(|column| column.len()).chain(ends.iter().map(|column| column.len())).min();
    let count = count.unwrap_or(0);
    let given = given.map(|column| &column[..count]);
    let mut left = Vec::new();
    if gm > 0.0 && gm.is_finite() {
        let ends = ends.each_mut().map(|column| &mut column[..count]);
        lanes::at_width(width, Many { gm, count, given, ends, left: &mut left });
    } else {
        left.extend(0..count);
    }
    for i in left {
        let [x, y, z, u, v, w, dt] = given.map(|column| column[i]);
        let end = alone(gm, &State::new(Vec3::new(x, y, z), Vec3::new(u, v, w)), dt).unwrap_or_else(|error| {
            refused(i, error);
            State::new(Vec3::zeros(), Vec3::zeros())
        });
        for (column, number) in ends.iter_mut().zip(end.position.iter().chain(end.velocity.iter())) {
            column[i] = *number;
        }
    }
}

/// The end of one flight, by the very operations of the batch; nothing where it is to be flown alone.
#[inline]
pub(super) fn one(gm: f64, state: &State, dt: f64) -> Option<State> {
    lanes::single(One { gm, state, dt })
}

#[inline(always)]
fn state<const N: usize>(c: &[[f64; N]; 6], i: usize) -> State {
    State::new(Vec3::new(c[0][i], c[1][i], c[2][i]), Vec3::new(c[3][i], c[4][i], c[5][i]))
}

#[inline(always)]
fn store<L: Lane>(arrival: &Arrival<L>, ends: &mut [[f64; MOST_ITEMS]; 6]) {
    let mut k = 0;
    while k < 3 {
        arrival.place[k].store(&mut ends[k]);
        arrival.velocity[k].store(&mut ends[3 + k]);
        k += 1;
    }
}

struct Many<'a> {
    gm: f64,
    /// length of every column
    count: usize,
    given: [&'a [f64]; 7],
    ends: [&'a mut [f64]; 6],
    /// those that are to be flown alone, in rising order
    left: &'a mut Vec<usize>,
}

impl Kernel for Many<'_> {
    type Answer = ();

    #[inline(always)]
    fn run<L: Lane>(mut self) {
        let mut first = 0;
        while first < self.count {
            let many = (self.count - first).min(BLOCK);
            let mut others = [0; BLOCK + MOST_ITEMS];
            let listed = self.fly_ellipses::<L>(first, many, &mut others);
            self.search_others::<L::Twin>(&others[..listed]);
            first += many;
        }
    }
}

impl Many<'_> {
    /// Flies a block as along ellipses; lists those that were none, and says how many.
    #[inline(always)]
    fn fly_ellipses<L: Lane>(&mut self, first: usize, many: usize, others: &mut [usize; BLOCK + MOST_ITEMS]) -> usize {
        let mut listed = 0;
        let mut i = first;
        while i < first + many {
            let here = (first + many - i).min(L::ITEMS);
            let bits = if here == L::ITEMS {
                let [x, y, z, u, v, w, dt] = self.given;
                let departure = Departure {
                    place: [L::load(&x[i..]), L::load(&y[i..]), L::load(&z[i..])],
                    velocity: [L::load(&u[i..]), L::load(&v[i..]), L::load(&w[i..])],
                    time: L::load(&dt[i..]),
                };
                let arrival = along_ellipses::<L>(self.gm, &departure);
                let mut k = 0;
                while k < 3 {
                    arrival.place[k].store(&mut self.ends[k][i..]);
                    arrival.velocity[k].store(&mut self.ends[3 + k][i..]);
                    k += 1;
                }
                arrival.flown.bits()
            } else {
                // The last few of the batch.
                let mut numbers = [0; MOST_ITEMS];
                let mut k = 0;
                while k < here {
                    numbers[k] = i + k;
                    k += 1;
                }
                let company = gathered::<L>(&self.given, &numbers[..here]);
                let arrival = along_ellipses::<L>(self.gm, &company);
                let bits = arrival.flown.bits();
                self.scatter(&arrival, bits, &numbers[..here]);
                bits
            };
            let mut k = 0;
            while k < here {
                // Written always and counted when it counts: no branch to guess.
                others[listed] = i + k;
                listed += usize::from(bits >> k & 1 == 0);
                k += 1;
            }
            i += L::ITEMS;
        }
        listed
    }

    /// Flies those that are listed, brought together in full lanes.
    #[inline(always)]
    fn search_others<L: Lane>(&mut self, others: &[usize]) {
        let mut j = 0;
        while j < others.len() {
            let numbers = &others[j..others.len().min(j + L::ITEMS)];
            let arrival = along_conics::<L>(self.gm, &gathered::<L>(&self.given, numbers));
            let bits = arrival.flown.bits();
            self.scatter(&arrival, bits, numbers);
            let mut k = 0;
            while k < numbers.len() {
                if bits >> k & 1 == 0 {
                    self.left.push(numbers[k]);
                }
                k += 1;
            }
            j += L::ITEMS;
        }
    }

    /// Writes the ends of those that were flown, by the bits of a mask, to their places.
    #[inline(always)]
    fn scatter<L: Lane>(&mut self, arrival: &Arrival<L>, bits: u32, numbers: &[usize]) {
        let mut ends = [[0.0; MOST_ITEMS]; 6];
        store(arrival, &mut ends);
        let mut k = 0;
        while k < numbers.len() {
            if bits >> k & 1 == 1 {
                let mut c = 0;
                while c < 6 {
                    self.ends[c][numbers[k]] = ends[c][k];
                    c += 1;
                }
            }
            k += 1;
        }
    }
}

/// The flights of these numbers side by side, up to a lane full; the last one once more in the places that are left.
#[inline(always)]
fn gathered<L: Lane>(given: &[&[f64]; 7], numbers: &[usize]) -> Departure<L> {
    let mut together = [[0.0; MOST_ITEMS]; 7];
    let mut k = 0;
    while k < L::ITEMS {
        let from = numbers[k.min(numbers.len() - 1)];
        let mut c = 0;
        while c < 7 {
            together[c][k] = given[c][from];
            c += 1;
        }
        k += 1;
    }
    let [x, y, z, u, v, w, dt] = &together;
    Departure {
        place: [L::load(x), L::load(y), L::load(z)],
        velocity: [L::load(u), L::load(v), L::load(w)],
        time: L::load(dt),
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
        store(&arrival, &mut ends);
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
            columns_hold_the_same(gm, &flights);
            assert!(gm < 0.0 || good > 3 * 4900, "{good}");
        }
    }

    fn columns_hold_the_same(gm: f64, flights: &[(State, f64)]) {
        let column = |pick: fn(&(State, f64)) -> f64| flights.iter().map(pick).collect::<Vec<f64>>();
        let given = [
            column(|(s, _)| s.position[0]),
            column(|(s, _)| s.position[1]),
            column(|(s, _)| s.position[2]),
            column(|(s, _)| s.velocity[0]),
            column(|(s, _)| s.velocity[1]),
            column(|(s, _)| s.velocity[2]),
            column(|(_, dt)| *dt),
        ];
        for width in Width::ALL {
            for count in [0, 1, 7, 8, 513, 1003, flights.len()] {
                let mut ends: [Vec<f64>; 6] = std::array::from_fn(|_| vec![7.0; count + 1]);
                let mut refused = Vec::new();
                let columns = given.each_ref().map(|column| &column[..count]);
                propagate_columns_at(width, gm, columns, ends.each_mut().map(|column| &mut column[..]), |i, error| {
                    refused.push((i, format!("{error:?}")));
                });
                let mut refusals = Vec::new();
                for (i, (start, dt)) in flights[..count].iter().enumerate() {
                    let there = ends.each_ref().map(|column| column[i]);
                    let alone = propagate(gm, start, *dt).unwrap_or_else(|error| {
                        refusals.push((i, format!("{error:?}")));
                        State::new(Vec3::zeros(), Vec3::zeros())
                    });
                    let (r, v) = (alone.position, alone.velocity);
                    assert_eq!(there.map(f64::to_bits), [r[0], r[1], r[2], v[0], v[1], v[2]].map(f64::to_bits), "{i}");
                }
                assert_eq!(refused, refusals);
                assert!(ends.iter().all(|column| column[count] == 7.0));
            }
        }
    }
}
