//! Lines of equal value through a ruled field: marching squares, with walls that no line crosses.
//!
//! A square of four neighbours is cut where its edges pass the level; a square whose opposite corners lie on one side is a saddle,
//! and the bilinear surface's own saddle value decides which corners belong together. Corners on different sides of
//! a wall never do: each side is cut by itself, and what lies behind the wall counts as high.

use std::collections::BTreeMap;

/// One place of the field.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Corner {
    /// Its value; infinite where there is none.
    pub value: f64,
    /// Which side of the wall it lies on.
    pub side: bool,
    /// Whether the field ends here: no line is drawn through a square with such a corner.
    pub void: bool,
}

/// What lies beyond the rim.
const BEYOND: Corner = Corner { value: f64::INFINITY, side: false, void: true };

/// How lines end.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Ends {
    /// At the rim of the field and where it has no values.
    Open,
    /// Never: they run on along the rim, so that what they enclose is all that is lower.
    Closed,
}

/// A line through the field, in places: whole numbers are its corners.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Line {
    /// Whether its last point is joined to its first (which is not repeated).
    pub closed: bool,
    /// (first index, second index).
    pub points: Vec<[f64; 2]>,
}

/// A ruled field to be cut.
pub(super) struct Squares<'a> {
    /// Corners along each index.
    pub size: (usize, usize),
    /// Each corner.
    pub corner: &'a dyn Fn(usize, usize) -> Corner,
    /// How far (0 to 1) from a low corner, on the way to a neighbour behind the wall, the level is reached.
    pub across: &'a dyn Fn([f64; 2], [f64; 2], f64) -> f64,
}

/// The corners of a square, in turn.
const TURN: [[usize; 2]; 4] = [[0, 0], [1, 0], [1, 1], [0, 1]];

struct Cut<'a> {
    squares: &'a Squares<'a>,
    level: f64,
    ends: Ends,
    places: BTreeMap<u64, [f64; 2]>,
    joints: BTreeMap<u64, [Option<u64>; 2]>,
}

impl Squares<'_> {
    /// The lines at a level, in an order that depends on the field alone. A corner at the level itself counts as high.
    pub(super) fn lines(&self, level: f64, ends: Ends) -> Vec<Line> {
        let mut cut = Cut { squares: self, level, ends, places: BTreeMap::new(), joints: BTreeMap::new() };
        // One ring of squares reaches beyond the rim; indices are counted from there.
        for i in 0..=self.size.0 {
            for j in 0..=self.size.1 {
                cut.square([i, j]);
            }
        }
        cut.traced()
    }

    fn shifted(&self, [i, j]: [usize; 2]) -> Corner {
        if i == 0 || j == 0 || i > self.size.0 || j > self.size.1 { BEYOND } else { (self.corner)(i - 1, j - 1) }
    }
}

impl Cut<'_> {
    fn square(&mut self, [i, j]: [usize; 2]) {
        let at = TURN.map(|[a, b]| [i + a, j + b]);
        let corners = at.map(|place| self.squares.shifted(place));
        if self.ends == Ends::Open && corners.iter().any(|corner| corner.void) {
            return;
        }
        for side in [false, true] {
            let low = corners.map(|corner| !corner.void && corner.side == side && corner.value < self.level);
            let crossed: Vec<usize> = (0..4).filter(|k| low[*k] != low[(k + 1) % 4]).collect();
            let pairs: &[(usize, usize)] = match crossed.as_slice() {
                [a, b] => &[(*a, *b)],
                // The corners that are cut off are the high ones where the low ones belong together.
                [_, _, _, _] if self.joined(&corners) == low[0] => &[(0, 1), (2, 3)],
                [_, _, _, _] => &[(3, 0), (1, 2)],
                _ => &[],
            };
            for (a, b) in pairs {
                let (a, b) = (self.crossing(*a, &at, &corners, low, side), self.crossing(*b, &at, &corners, low, side));
                self.join(a, b);
                self.join(b, a);
            }
        }
    }

    /// Whether the low corners of a saddle belong together: the value at the saddle of the bilinear surface is low.
    fn joined(&self, corners: &[Corner; 4]) -> bool {
        if corners.iter().any(|corner| corner.void || corner.side != corners[0].side || !corner.value.is_finite()) {
            return false;
        }
        let [a, b, c, d] = corners.map(|corner| corner.value);
        (a * c - b * d) / (a + c - b - d) < self.level
    }

    /// The point where the level crosses the edge from corner `k` to the next one; its name.
    fn crossing(&mut self, k: usize, at: &[[usize; 2]; 4], corners: &[Corner; 4], low: [bool; 4], side: bool) -> u64 {
        let next = (k + 1) % 4;
        let (from, to) = if low[k] { (k, next) } else { (next, k) };
        let origin = at[from].min(at[to]);
        let along_first = at[from][1] == at[to][1];
        let corner = (origin[0] * (self.squares.size.1 + 2) + origin[1]) as u64;
        let key = corner * 4 + u64::from(along_first) * 2 + u64::from(side);
        if !self.places.contains_key(&key) {
            let place = |k: usize| at[k].map(|index| index as f64 - 1.0);
            let (a, b) = (place(from), place(to));
            let share = if corners[to].void {
                0.0
            } else if corners[from].side != corners[to].side {
                (self.squares.across)(a, b, self.level)
            } else {
                let (low, high) = (corners[from].value, corners[to].value);
                if high.is_finite() { (self.level - low) / (high - low) } else { 0.0 }
            };
            self.places.insert(key, [a[0] + share * (b[0] - a[0]), a[1] + share * (b[1] - a[1])]);
        }
        key
    }

    fn join(&mut self, a: u64, b: u64) {
        let seat = self.joints.entry(a).or_insert([None, None]);
        if let Some(free) = seat.iter_mut().find(|seat| seat.is_none()) {
            *free = Some(b);
        }
    }

    /// Follows the joints: lines with ends first, then rings.
    fn traced(mut self) -> Vec<Line> {
        let ends: Vec<u64> =
            self.joints.iter().filter(|(_, [_, second])| second.is_none()).map(|(key, _)| *key).collect();
        let mut lines: Vec<Line> = ends.into_iter().filter_map(|key| self.follow(key)).collect();
        while let Some(key) = self.joints.keys().next().copied() {
            lines.extend(self.follow(key));
        }
        lines
    }

    fn follow(&mut self, first: u64) -> Option<Line> {
        let mut points = Vec::new();
        let mut closed = false;
        let mut at = first;
        let mut before = None;
        // A point that was visited is taken out; one with a single neighbour is an end.
        while let Some(seats) = self.joints.remove(&at) {
            points.extend(self.places.get(&at));
            let next = seats.into_iter().flatten().find(|next| Some(*next) != before);
            let Some(next) = next else { break };
            closed = next == first && before.is_some();
            before = Some(at);
            at = next;
        }
        (points.len() > 1).then_some(Line { closed, points })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn plain(size: (usize, usize), value: impl Fn(usize, usize) -> f64, level: f64, ends: Ends) -> Vec<Line> {
        let corner = |i: usize, j: usize| {
            let value = value(i, j);
            Corner { value, side: false, void: !value.is_finite() }
        };
        Squares { size, corner: &corner, across: &|_, _, _| 1.0 }.lines(level, ends)
    }

    #[test]
    fn a_bowl_gives_one_ring_at_its_radius() {
        let value = |i: usize, j: usize| (i as f64 - 20.0).hypot(j as f64 - 20.0);
        let lines = plain((41, 41), value, 12.3, Ends::Open);
        assert_eq!(lines.len(), 1);
        assert!(lines[0].closed && lines[0].points.len() > 80);
        for [x, y] in &lines[0].points {
            // The distance is nearly linear along an edge: off by at most h²/8 over the radius.
            assert!(((x - 20.0).hypot(y - 20.0) - 12.3).abs() < 1.0 / 8.0 / 12.3, "{x} {y}");
        }
    }

    #[test]
    fn a_slope_gives_one_line_from_rim_to_rim_and_closes_along_it() {
        let value = |i: usize, j: usize| i as f64 + 0.25 * j as f64;
        let lines = plain((11, 9), value, 5.1, Ends::Open);
        assert_eq!(lines.len(), 1);
        let points = &lines[0].points;
        assert!(!lines[0].closed && points.iter().all(|[x, y]| (x + 0.25 * y - 5.1).abs() < 1e-12));
        let rim = |[_, y]: [f64; 2]| y == 0.0 || y == 8.0;
        assert!(rim(points[0]) && rim(points[points.len() - 1]));
        let rings = plain((11, 9), value, 5.1, Ends::Closed);
        assert!(rings.len() == 1 && rings[0].closed);
        // By the shoelace formula the ring encloses all that is lower: a trapezium of widths 5.1 and 3.1, 8 high.
        let p = &rings[0].points;
        let twice: f64 =
            (0..p.len()).map(|k| (p[k], p[(k + 1) % p.len()])).map(|(a, b)| a[0] * b[1] - a[1] * b[0]).sum();
        assert!((twice.abs() / 2.0 - 8.0 * (5.1 + 3.1) / 2.0).abs() < 1e-9, "{twice}");
    }

    #[test]
    fn a_saddle_is_decided_by_its_own_value() {
        // f = (x − 0.6)(y − 0.6) has its saddle at value 0: low corners belong together above it, and not below it.
        let value = |i: usize, j: usize| (i as f64 - 0.6) * (j as f64 - 0.6);
        for (level, joined) in [(0.03, true), (-0.03, false)] {
            let lines = plain((2, 2), value, level, Ends::Open);
            assert_eq!(lines.len(), 2, "{level}");
            for line in &lines {
                // Both ends of each piece lie beside the corner that it cuts off.
                let [a, b] = [line.points[0], line.points[1]];
                let centre = [0.5 * (a[0] + b[0]), 0.5 * (a[1] + b[1])];
                let beside_low = (centre[0] < 0.5) != (centre[1] < 0.5);
                assert_eq!(beside_low, !joined, "{line:?}");
            }
        }
    }

    #[test]
    fn no_line_crosses_a_wall_or_leaves_the_values() {
        // A valley on each side of a wall at 5.5 that the corners do not show.
        let corner = |i: usize, j: usize| Corner { value: (j as f64 - 5.0).abs(), side: i > 5, void: i == 0 && j == 0 };
        let squares = Squares { size: (12, 11), corner: &corner, across: &|_, _, _| 0.5 };
        let lines = squares.lines(2.5, Ends::Open);
        assert_eq!(lines.len(), 2);
        for line in &lines {
            let left = line.points[0][0] <= 5.5;
            assert!(line.points.iter().all(|[x, _]| if left { *x <= 5.5 } else { *x >= 5.5 }));
            assert!(line.points.iter().any(|[x, _]| *x == 5.5));
        }
    }
}
