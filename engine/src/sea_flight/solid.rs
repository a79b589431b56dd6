//! Simple solids that a craft is stacked of, and what of them lies below a plane.
//!
//! Axes of the craft: x forward, y to the left, z up from the keel; m. A plane is told by its unit normal, which points out of the liquid, and by its
//! distance from the origin along it. A solid is cut into sections square to its own axis; a section cut by the plane's line has a closed form. Where the line
//! leaves a section the integrand bends, so the axis is divided there, and a change of variable makes each part smooth to its ends.

use std::f64::consts::{FRAC_PI_2, PI};

use super::SeaFlightError;
use super::quadrature::{FEW, MANY};

/// The form of a solid about its own axis.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Form {
    /// Of one diameter along its length, m.
    Cylinder {
        /// m.
        diameter: f64,
        /// Along the axis, m.
        length: f64,
    },
    /// A cone, cut off or not: its diameter changes evenly along its length.
    Frustum {
        /// At the lower end, or at the end of lesser x or y, m; zero for a point.
        first: f64,
        /// At the other end, m; zero for a point.
        last: f64,
        /// Along the axis, m.
        length: f64,
    },
    /// A ball.
    Sphere {
        /// m.
        diameter: f64,
    },
    /// A box along the axes of the craft.
    Block {
        /// Along x, m.
        length: f64,
        /// Along y, m.
        beam: f64,
        /// Along z, m.
        height: f64,
    },
}

/// Which axis of the craft a solid's own axis is along.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub enum Axis {
    /// z.
    #[default]
    Upright,
    /// x.
    Lengthwise,
    /// y.
    Crosswise,
}

impl Axis {
    /// The three axes of the craft by number, the solid's own first.
    fn order(self) -> [usize; 3] {
        match self {
            Self::Upright => [2, 0, 1],
            Self::Lengthwise => [0, 1, 2],
            Self::Crosswise => [1, 2, 0],
        }
    }
}

/// A solid in its place.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Solid {
    form: Form,
    axis: Axis,
    /// Middle of the box around it, m.
    centre: [f64; 3],
}

/// Volume below a plane, m³, and the volume times its centroid, m⁴.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Below {
    /// m³.
    pub volume: f64,
    /// m⁴.
    pub moment: [f64; 3],
}

impl Below {
    /// Adds another one.
    pub fn add(&mut self, other: &Self) {
        self.volume += other.volume;
        for (sum, more) in self.moment.iter_mut().zip(other.moment) {
            *sum += more;
        }
    }

    /// The centroid, m; the origin for none.
    pub fn centroid(&self) -> [f64; 3] {
        if self.volume > 0.0 { self.moment.map(|moment| moment / self.volume) } else { [0.0; 3] }
    }
}

/// The cut of a level plane: area (m²), first moments about the axes (m³) and second moments ∫x², ∫y², ∫xy (m⁴).
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Waterplane {
    /// m².
    pub area: f64,
    /// ∫x and ∫y, m³.
    pub first: [f64; 2],
    /// ∫x², ∫y² and ∫xy, m⁴.
    pub second: [f64; 3],
}

impl Waterplane {
    /// Adds another one.
    pub fn add(&mut self, other: &Self) {
        self.area += other.area;
        self.first = std::array::from_fn(|i| self.first[i] + other.first[i]);
        self.second = std::array::from_fn(|i| self.second[i] + other.second[i]);
    }

    /// Of an area with its own second moments, moved to a place.
    fn placed(area: f64, own: [f64; 2], x: f64, y: f64) -> Self {
        Self { area, first: [area * x, area * y], second: [own[0] + area * x * x, own[1] + area * y * y, area * x * y] }
    }

    /// Least and greatest second moment about axes through its own centre, m⁴, and the direction in which heeling meets the least, rad from x.
    pub fn principal(&self) -> (f64, f64, f64) {
        if self.area <= 0.0 {
            return (0.0, 0.0, 0.0);
        }
        let [x, y] = self.first.map(|first| first / self.area);
        let xx = self.second[0] - self.area * x * x;
        let yy = self.second[1] - self.area * y * y;
        let xy = self.second[2] - self.area * x * y;
        let (mean, half) = (0.5 * (xx + yy), 0.5 * (xx - yy));
        let spread = half.hypot(xy);
        // ∫(along the direction)² = mean + half cos 2a + xy sin 2a is least opposite to where it is greatest.
        (mean - spread, mean + spread, 0.5 * xy.atan2(half) + FRAC_PI_2)
    }
}

impl Solid {
    /// A solid whose lowest point stands at a height above the keel, its middle at a place (x, y), m.
    ///
    /// # Errors
    /// A measure that is no positive number, a place that is no finite one, a frustum without width.
    pub fn new(form: Form, axis: Axis, bottom: f64, place: [f64; 2]) -> Result<Self, SeaFlightError> {
        let positive = |what: &'static str, value: f64| {
            let fine = value > 0.0 && value.is_finite();
            if fine { Ok(()) } else { Err(SeaFlightError::Measure { what, value }) }
        };
        match form {
            Form::Cylinder { diameter, length } => {
                positive("diameter", diameter)?;
                positive("length", length)?;
            }
            Form::Frustum { first, last, length } => {
                positive("length", length)?;
                if !(first >= 0.0 && last >= 0.0) {
                    return Err(SeaFlightError::Measure { what: "diameter of an end", value: first.min(last) });
                }
                positive("greater diameter", first.max(last))?;
            }
            Form::Sphere { diameter } => positive("diameter", diameter)?,
            Form::Block { length, beam, height } => {
                positive("length", length)?;
                positive("beam", beam)?;
                positive("height", height)?;
            }
        }
        for (what, value) in [("bottom", bottom), ("place along x", place[0]), ("place along y", place[1])] {
            if !value.is_finite() {
                return Err(SeaFlightError::Measure { what, value });
            }
        }
        let mut solid = Self { form, axis, centre: [place[0], place[1], 0.0] };
        solid.centre[2] = bottom + solid.half_sizes()[2];
        Ok(solid)
    }

    /// Its form.
    pub fn form(&self) -> Form {
        self.form
    }

    /// Half of the box around it, along the axes of the craft, m.
    fn half_sizes(&self) -> [f64; 3] {
        let (along, around) = match self.form {
            Form::Cylinder { diameter, length } => (0.5 * length, 0.5 * diameter),
            Form::Frustum { first, last, length } => (0.5 * length, 0.5 * first.max(last)),
            Form::Sphere { diameter } => (0.5 * diameter, 0.5 * diameter),
            Form::Block { length, beam, height } => return [0.5 * length, 0.5 * beam, 0.5 * height],
        };
        let mut half = [around; 3];
        half[self.axis.order()[0]] = along;
        half
    }

    /// Heights of its lowest and highest point above the keel, m.
    pub fn heights(&self) -> (f64, f64) {
        let half = self.half_sizes()[2];
        (self.centre[2] - half, self.centre[2] + half)
    }

    /// All of its volume, m³.
    pub fn volume(&self) -> f64 {
        match self.form {
            Form::Cylinder { diameter, length } => 0.25 * PI * diameter * diameter * length,
            Form::Frustum { first, last, length } => PI / 12.0 * (first * first + first * last + last * last) * length,
            Form::Sphere { diameter } => PI / 6.0 * diameter.powi(3),
            Form::Block { length, beam, height } => length * beam * height,
        }
    }

    /// Distances along a direction between which it lies, m: those of the box around it.
    pub fn reach(&self, normal: &[f64; 3]) -> (f64, f64) {
        let half = self.half_sizes();
        let middle: f64 = (0..3).map(|i| normal[i] * self.centre[i]).sum();
        let width: f64 = (0..3).map(|i| (normal[i] * half[i]).abs()).sum();
        (middle - width, middle + width)
    }

    /// What of it lies below a plane: `normal` a unit vector out of the liquid, `height` the plane's distance from the origin along it, m.
    ///
    /// Exact where the plane is square to the axis and for spheres and blocks; else by quadrature whose error is below 1e-12 of the volume.
    pub fn below(&self, normal: &[f64; 3], height: f64) -> Below {
        if let Form::Sphere { diameter } = self.form {
            return self.cap(normal, height, 0.5 * diameter);
        }
        let [a, u, v] = match self.form {
            Form::Block { .. } => {
                // The sections are square to the axis that the plane is most nearly square to: the fewest corners are met.
                let steepest = (0..3).fold(0, |best, i| if normal[i].abs() > normal[best].abs() { i } else { best });
                [steepest, (steepest + 1) % 3, (steepest + 2) % 3]
            }
            _ => self.axis.order(),
        };
        let half = self.half_sizes();
        // Distances from the middle of the solid from here on.
        let height = height - (0..3).map(|i| normal[i] * self.centre[i]).sum::<f64>();
        let cut = Cut { along: normal[a], across: [normal[u], normal[v]], height };
        let sums = match self.form {
            Form::Block { .. } => cut.block(half[a], [half[u], half[v]]),
            Form::Frustum { first, last, .. } => cut.round(half[a], [0.5 * first, 0.5 * last]),
            Form::Cylinder { diameter, .. } => cut.round(half[a], [0.5 * diameter; 2]),
            Form::Sphere { .. } => [0.0; 4],
        };
        let mut moment = [0.0; 3];
        moment[a] = sums[1];
        moment[u] = sums[2];
        moment[v] = sums[3];
        Below { volume: sums[0], moment: std::array::from_fn(|i| moment[i] + sums[0] * self.centre[i]) }
    }

    fn cap(&self, normal: &[f64; 3], height: f64, radius: f64) -> Below {
        let centre: f64 = (0..3).map(|i| normal[i] * self.centre[i]).sum();
        let t = (height - centre).clamp(-radius, radius);
        let volume = PI / 3.0 * (t + radius).powi(2) * (2.0 * radius - t);
        let along = -0.25 * PI * (radius * radius - t * t).powi(2);
        Below { volume, moment: std::array::from_fn(|i| volume * self.centre[i] + along * normal[i]) }
    }

    /// Its cut by the level plane at a height above the keel, m; nothing at and beyond its ends but for upright solids at their lower end.
    pub fn waterplane(&self, height: f64) -> Waterplane {
        let [x, y, middle] = self.centre;
        let (low, high) = self.heights();
        if height < low || height > high {
            return Waterplane::default();
        }
        let off = height - middle;
        let disc = |radius: f64| {
            let own = 0.25 * PI * radius.powi(4);
            Waterplane::placed(PI * radius * radius, [own, own], x, y)
        };
        match self.form {
            Form::Block { length, beam, .. } => {
                Waterplane::placed(length * beam, [beam * length.powi(3) / 12.0, length * beam.powi(3) / 12.0], x, y)
            }
            Form::Sphere { diameter } => disc((0.25 * diameter * diameter - off * off).max(0.0).sqrt()),
            Form::Cylinder { diameter, .. } if self.axis == Axis::Upright => disc(0.5 * diameter),
            Form::Frustum { first, last, length } if self.axis == Axis::Upright => {
                disc(0.5 * (first + (last - first) * (height - low) / length))
            }
            Form::Cylinder { diameter, length } => self.lying([0.5 * diameter; 2], length, off),
            Form::Frustum { first, last, length } => self.lying([0.5 * first, 0.5 * last], length, off),
        }
    }

    /// The cut of a lying round solid at a height above its axis, m.
    fn lying(&self, radii: [f64; 2], length: f64, off: f64) -> Waterplane {
        let [x, y, _] = self.centre;
        let radius = |s: f64| radii[0] + (radii[1] - radii[0]) * (s / length + 0.5);
        // Where the radius passes the height the chord ends like a square root.
        let mut ends = vec![-0.5 * length, 0.5 * length];
        if radii[0] != radii[1] {
            let at = ((off.abs() - radii[0]) / (radii[1] - radii[0]) - 0.5) * length;
            if at > ends[0] && at < ends[1] {
                ends.insert(1, at);
            }
        }
        let (mut area, mut along, mut long, mut wide) = (0.0, 0.0, 0.0, 0.0);
        for pair in ends.windows(2) {
            MANY.arched(pair[0], pair[1], |s, weight| {
                let chord = 2.0 * (radius(s).powi(2) - off * off).max(0.0).sqrt();
                area += weight * chord;
                along += weight * chord * s;
                long += weight * chord * s * s;
                wide += weight * chord.powi(3) / 12.0;
            });
        }
        if area <= 0.0 {
            return Waterplane::default();
        }
        let shift = along / area;
        let own = long - area * shift * shift;
        if self.axis == Axis::Lengthwise {
            Waterplane::placed(area, [own, wide], x + shift, y)
        } else {
            Waterplane::placed(area, [wide, own], x, y + shift)
        }
    }
}

/// A plane as a solid's own axes see it: parts of the normal along its axis and across it, distance from its middle.
struct Cut {
    along: f64,
    across: [f64; 2],
    height: f64,
}

impl Cut {
    /// Volume below, then its moments along the axis and across it, of a round solid of half a length and radii at its ends.
    fn round(&self, half: f64, radii: [f64; 2]) -> [f64; 4] {
        let slope = (radii[1] - radii[0]) / (2.0 * half);
        let radius = |s: f64| radii[0] + slope * (s + half);
        let q = self.across[0].hypot(self.across[1]);
        // Where the line of the plane touches the rim of a section: height − along s = ± q radius.
        let mut ends = vec![-half, half];
        for sign in [-1.0, 1.0] {
            let per = self.along + sign * q * slope;
            let at = (self.height - sign * q * (radii[0] + slope * half)) / per;
            if per != 0.0 && at > -half && at < half {
                ends.push(at);
            }
        }
        ends.sort_by(f64::total_cmp);
        let mut sums = [0.0; 4];
        for pair in ends.windows(2) {
            let middle = 0.5 * (pair[0] + pair[1]);
            let (depth, reach) = (self.height - self.along * middle, q * radius(middle));
            if depth >= reach {
                FEW.straight(pair[0], pair[1], |s, weight| {
                    let area = weight * PI * radius(s).powi(2);
                    sums[0] += area;
                    sums[1] += area * s;
                });
            } else if depth > -reach {
                MANY.arched(pair[0], pair[1], |s, weight| {
                    let r = radius(s);
                    let x = ((self.height - self.along * s) / (q * r)).clamp(-1.0, 1.0);
                    let root = (1.0 - x * x).sqrt();
                    let area = weight * r * r * (x * root + x.asin() + FRAC_PI_2);
                    let aside = -weight * 2.0 / 3.0 * (r * root).powi(3);
                    sums[0] += area;
                    sums[1] += area * s;
                    sums[2] += aside * self.across[0] / q;
                    sums[3] += aside * self.across[1] / q;
                });
            }
        }
        sums
    }

    /// The same of a block of half sizes.
    fn block(&self, half: f64, across: [f64; 2]) -> [f64; 4] {
        let mut ends = vec![-half, half];
        for (i, j) in [(-1.0, -1.0), (-1.0, 1.0), (1.0, -1.0), (1.0, 1.0)] {
            let at = (self.height - i * self.across[0] * across[0] - j * self.across[1] * across[1]) / self.along;
            if at > -half && at < half {
                ends.push(at);
            }
        }
        ends.sort_by(f64::total_cmp);
        let mut sums = [0.0; 4];
        for pair in ends.windows(2) {
            // Areas are of the second degree in s, moments of the third: four points are exact.
            FEW.straight(pair[0], pair[1], |s, weight| {
                let [area, u, v] = clipped(across, self.across, self.height - self.along * s);
                sums[0] += weight * area;
                sums[1] += weight * area * s;
                sums[2] += weight * u;
                sums[3] += weight * v;
            });
        }
        sums
    }
}

/// Area and first moments of the part of a rectangle (half sizes) where normal · (u, v) is below a height.
fn clipped(half: [f64; 2], normal: [f64; 2], height: f64) -> [f64; 3] {
    let corners = [[-half[0], -half[1]], [half[0], -half[1]], [half[0], half[1]], [-half[0], half[1]]];
    let over = |p: [f64; 2]| normal[0] * p[0] + normal[1] * p[1] - height;
    let mut outline: Vec<[f64; 2]> = Vec::with_capacity(6);
    for i in 0..4 {
        let (p, next) = (corners[i], corners[(i + 1) % 4]);
        let (here, there) = (over(p), over(next));
        if here <= 0.0 {
            outline.push(p);
        }
        if (here < 0.0 && there > 0.0) || (here > 0.0 && there < 0.0) {
            let share = here / (here - there);
            outline.push([p[0] + share * (next[0] - p[0]), p[1] + share * (next[1] - p[1])]);
        }
    }
    let (mut area, mut u, mut v) = (0.0, 0.0, 0.0);
    for i in 0..outline.len() {
        let (p, next) = (outline[i], outline[(i + 1) % outline.len()]);
        let cross = 0.5 * (p[0] * next[1] - next[0] * p[1]);
        area += cross;
        u += cross * (p[0] + next[0]) / 3.0;
        v += cross * (p[1] + next[1]) / 3.0;
    }
    [area, u, v]
}
