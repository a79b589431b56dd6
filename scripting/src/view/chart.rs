//! A map of figures over two axes: bands of colour, labelled contours, marks, and beside it what they mean.

use super::calendar::Tick;
use super::lettering::{Plate, width};
use super::scale;
use super::svg::{Anchor, Lettering, Stroke, Svg};

/// Size of the drawing, user units.
const SIZE: (f64, f64) = (1140.0, 760.0);
/// Upper left and lower right corner of the map.
const LEAST: (f64, f64) = (86.0, 104.0);
const MOST: (f64, f64) = (746.0, 674.0);
/// Left end of what stands beside the map.
const COLUMN: f64 = 850.0;

const INK: &str = "#1c1e22";
const FAINT: &str = "#5f6670";
const PALE: &str = "#c9ced6";
const NONE: &str = "#e7e9ec";
const HALO: &str = "#ffffff";

/// Nearer than this two points of a line are one, user units.
const FINEST: f64 = 0.8;

/// A chain of places on the two axes.
pub type Path = Vec<(f64, f64)>;

/// One axis: its ends, its ticks, its name with the unit.
#[derive(Debug, Clone, Default)]
pub struct Axis {
    /// Value at the lower or left end.
    pub low: f64,
    /// Value at the other end.
    pub high: f64,
    /// What stands along it, by value.
    pub ticks: Vec<Tick>,
    /// Beside it.
    pub title: String,
}

/// Where a figure lies below a level.
#[derive(Debug, Clone)]
pub struct Band {
    /// The level, as the scale shows it.
    pub label: String,
    /// Rings that enclose it by the even-odd rule.
    pub rings: Vec<Path>,
}

/// A line of equal value.
#[derive(Debug, Clone)]
pub struct Isoline {
    /// Its value, as it is written on it.
    pub label: String,
    /// Whether its end is joined to its begin.
    pub closed: bool,
    /// Its points.
    pub points: Path,
}

/// The lines of one figure, drawn alike.
#[derive(Debug, Clone)]
pub struct Family {
    /// The figure and its unit.
    pub name: String,
    /// Colour, as `#rrggbb`.
    pub colour: &'static str,
    /// Pattern of dashes, empty for whole lines.
    pub dashes: &'static str,
    /// The lines.
    pub lines: Vec<Isoline>,
}

/// A slanting line across the map along which a third date is the same.
#[derive(Debug, Clone)]
pub struct Slant {
    /// Where it enters and where it leaves the map.
    pub ends: [(f64, f64); 2],
    /// What it stands for.
    pub label: String,
}

/// A place that is named beside the map.
#[derive(Debug, Clone)]
pub struct Mark {
    /// Where.
    pub at: (f64, f64),
    /// What is said of it; the first line is bold.
    pub lines: Vec<String>,
}

/// Everything that the drawing shows.
#[derive(Debug, Clone, Default)]
pub struct Chart {
    /// Above the map.
    pub title: String,
    /// Below the title.
    pub subtitle: String,
    /// From left to right.
    pub across: Axis,
    /// From below upwards.
    pub up: Axis,
    /// Where there are figures at all; the rest of the map is grey.
    pub known: Vec<Path>,
    /// Bands by ascending level.
    pub bands: Vec<Band>,
    /// The figure of the bands, and its unit.
    pub band_title: String,
    /// Labelled lines.
    pub families: Vec<Family>,
    /// Slanting lines, and what they are.
    pub slants: Vec<Slant>,
    /// Of the slanting lines.
    pub slant_title: String,
    /// Lines that contours do not cross, and what they are.
    pub ridge: Vec<Path>,
    /// Of those lines.
    pub ridge_title: String,
    /// Places, numbered in this order.
    pub marks: Vec<Mark>,
    /// Above the list of marks.
    pub mark_title: String,
    /// Below the list, one line each.
    pub notes: Vec<String>,
}

fn letters(size: f64, colour: &str) -> Lettering<'_> {
    Lettering { size, colour, anchor: Anchor::Start, bold: false }
}

fn stroke(colour: &str, width: f64) -> Stroke<'_> {
    Stroke { colour, width, dashes: "" }
}

/// A text no wider than the room there is: smaller letters where it would be.
fn fitting(text: &str, size: f64, bold: bool, room: f64) -> f64 {
    size * (room / width(text, size, bold)).min(1.0)
}

/// Colour of band `k` of so many: the lowest is the darkest.
fn shade(k: usize, count: usize) -> String {
    scale::colour(k as f64 / (count.max(2) - 1) as f64)
}

impl Chart {
    fn place(&self, (x, y): (f64, f64)) -> (f64, f64) {
        let share = |axis: &Axis, value: f64| (value - axis.low) / (axis.high - axis.low);
        (LEAST.0 + share(&self.across, x) * (MOST.0 - LEAST.0), MOST.1 - share(&self.up, y) * (MOST.1 - LEAST.1))
    }

    /// A line on the drawing, without points that nobody could tell from the one before.
    fn path(&self, points: &[(f64, f64)]) -> Path {
        let mut kept: Path = Vec::new();
        for (index, point) in points.iter().enumerate() {
            let (x, y) = self.place(*point);
            let near = kept.last().is_some_and(|(u, v)| (u - x).hypot(v - y) < FINEST);
            if !near || index + 1 == points.len() {
                kept.push((x, y));
            }
        }
        kept
    }

    /// The drawing as an SVG document.
    pub fn draw(&self) -> String {
        let mut svg = Svg::blank(SIZE.0, SIZE.1, &self.title);
        let mut taken: Vec<Plate> = Vec::new();
        self.draw_ground(&mut svg);
        self.draw_ticks(&mut svg);
        self.draw_slants(&mut svg);
        self.draw_lines(&mut svg);
        svg.rectangle(LEAST, (MOST.0 - LEAST.0, MOST.1 - LEAST.1), "none", Some(stroke(INK, 1.2)));
        self.draw_marks(&mut svg, &mut taken);
        self.label_lines(&mut svg, &mut taken);
        self.draw_titles(&mut svg);
        self.draw_column(&mut svg);
        svg.finish()
    }

    fn draw_ground(&self, svg: &mut Svg) {
        svg.rectangle(LEAST, (MOST.0 - LEAST.0, MOST.1 - LEAST.1), NONE, None);
        let rings = |paths: &[Path]| -> Vec<Path> { paths.iter().map(|path| self.path(path)).collect() };
        svg.area(&rings(&self.known), "#ffffff");
        for (k, band) in self.bands.iter().enumerate().rev() {
            svg.area(&rings(&band.rings), &shade(k, self.bands.len()));
        }
    }

    fn draw_ticks(&self, svg: &mut Svg) {
        for tick in &self.across.ticks {
            let (x, _) = self.place((tick.at, self.up.low));
            svg.polyline(&[(x, LEAST.1), (x, MOST.1)], Stroke { colour: PALE, width: 0.5, dashes: "1 3" });
            svg.polyline(&[(x, MOST.1), (x, MOST.1 + 6.0)], stroke(INK, 1.0));
            let middle = Lettering { anchor: Anchor::Middle, ..letters(12.5, INK) };
            svg.text((x, MOST.1 + 21.0), &tick.label, middle);
            if let Some(below) = &tick.below {
                svg.text((x, MOST.1 + 37.0), below, Lettering { bold: true, ..middle });
            }
        }
        for tick in &self.up.ticks {
            let (_, y) = self.place((self.across.low, tick.at));
            svg.polyline(&[(LEAST.0, y), (MOST.0, y)], Stroke { colour: PALE, width: 0.5, dashes: "1 3" });
            svg.polyline(&[(LEAST.0 - 6.0, y), (LEAST.0, y)], stroke(INK, 1.0));
            let end = Lettering { anchor: Anchor::End, ..letters(12.5, INK) };
            svg.text((LEAST.0 - 10.0, y + 4.4), &tick.label, end);
            if let Some(below) = &tick.below {
                svg.text((LEAST.0 - 10.0, y + 18.0), below, Lettering { bold: true, size: 11.5, ..end });
            }
        }
    }

    fn draw_slants(&self, svg: &mut Svg) {
        for slant in &self.slants {
            let ends = slant.ends.map(|end| self.place(end));
            svg.polyline(&ends, Stroke { colour: FAINT, width: 0.6, dashes: "7 5" });
            let [_, (x, y)] = ends;
            // A line that leaves through the right side is named there, else above.
            if x > MOST.0 - 1.0 {
                svg.text((x + 7.0, y + 4.0), &slant.label, letters(11.0, FAINT));
            } else {
                svg.text((x, y - 6.0), &slant.label, Lettering { anchor: Anchor::Middle, ..letters(11.0, FAINT) });
            }
        }
    }

    fn draw_lines(&self, svg: &mut Svg) {
        for path in &self.ridge {
            svg.polyline(&self.path(path), Stroke { colour: INK, width: 1.6, dashes: "0.1 4" });
        }
        for family in &self.families {
            for line in &family.lines {
                let mut path = self.path(&line.points);
                if line.closed
                    && let Some(first) = path.first().copied()
                {
                    path.push(first);
                }
                svg.polyline(&path, Stroke { colour: family.colour, width: 1.25, dashes: family.dashes });
            }
        }
    }

    fn draw_marks(&self, svg: &mut Svg, taken: &mut Vec<Plate>) {
        for (index, mark) in self.marks.iter().enumerate() {
            let (x, y) = self.place(mark.at);
            svg.circle((x, y), 5.0, "#ffffff", Some(stroke(INK, 1.6)));
            svg.circle((x, y), 1.8, INK, None);
            taken.push(Plate { centre: (x, y), half: (9.0, 9.0), degrees: 0.0 });
            let name = (index + 1).to_string();
            // Beside the mark, on the side where nothing stands yet.
            let seats = [(13.0, -8.0), (-13.0, -8.0), (13.0, 14.0), (-13.0, 14.0), (20.0, 4.0), (-20.0, 4.0)];
            let plate = |(dx, dy): (f64, f64)| Plate { centre: (x + dx, y + dy - 5.0), half: (8.0, 9.0), degrees: 0.0 };
            let free = |seat: &(f64, f64)| {
                plate(*seat).inside(LEAST, MOST) && !taken.iter().any(|other| other.meets(&plate(*seat)))
            };
            let seat = seats.into_iter().find(free).unwrap_or(seats[0]);
            let bold = Lettering { bold: true, anchor: Anchor::Middle, ..letters(15.0, INK) };
            svg.turned_text((x + seat.0, y + seat.1), 0.0, &name, bold, Some(HALO));
            taken.push(plate(seat));
        }
    }

    /// Writes each line's value on it, where it runs straight and nothing else stands.
    fn label_lines(&self, svg: &mut Svg, taken: &mut Vec<Plate>) {
        let size = 11.5;
        let ridge = self.ridge.iter().map(|path| Isoline {
            label: self.ridge_title.clone(),
            closed: false,
            points: path.clone(),
        });
        let ridge = ridge.max_by(|a, b| self.length(a).total_cmp(&self.length(b)));
        let ridge = ridge.iter().map(|line| (line, INK));
        let lines = self.families.iter().flat_map(|family| family.lines.iter().map(|line| (line, family.colour)));
        for (line, colour) in ridge.chain(lines) {
            let path = self.path(&line.points);
            let half = 0.5 * width(&line.label, size, false) + 2.0;
            // A long line says its value again, far from the first time.
            let mut first: Option<Plate> = None;
            let whole = self.length(line);
            for _ in 0..if whole > 700.0 { 2 } else { 1 } {
                let Some(plate) = seat(&path, half, 0.62 * size, taken, first.map(|plate| plate.centre)) else { break };
                // The base line lies below the middle of the letters, at right angles to the turn.
                let (sine, cosine) = plate.degrees.to_radians().sin_cos();
                let drop = 0.36 * size;
                let at = (plate.centre.0 - drop * sine, plate.centre.1 + drop * cosine);
                let lettering = Lettering { anchor: Anchor::Middle, ..letters(size, colour) };
                svg.turned_text(at, plate.degrees, &line.label, lettering, Some(HALO));
                taken.push(plate);
                first = Some(plate);
            }
        }
    }

    fn length(&self, line: &Isoline) -> f64 {
        let path = self.path(&line.points);
        path.windows(2).map(|pair| (pair[1].0 - pair[0].0).hypot(pair[1].1 - pair[0].1)).sum()
    }

    fn draw_titles(&self, svg: &mut Svg) {
        let room = SIZE.0 - LEAST.0 - 20.0;
        let size = fitting(&self.title, 22.0, true, room);
        svg.text((LEAST.0, 36.0), &self.title, Lettering { bold: true, ..letters(size, INK) });
        let size = fitting(&self.subtitle, 13.5, false, room);
        svg.text((LEAST.0, 58.0), &self.subtitle, letters(size, FAINT));
        let middle = Lettering { anchor: Anchor::Middle, ..letters(14.0, INK) };
        svg.text((0.5 * (LEAST.0 + MOST.0), SIZE.1 - 24.0), &self.across.title, middle);
        let at = (24.0, 0.5 * (LEAST.1 + MOST.1));
        svg.turned_text(at, -90.0, &self.up.title, middle, None);
    }

    fn draw_column(&self, svg: &mut Svg) {
        let mut y = LEAST.1 + 4.0;
        let room = SIZE.0 - COLUMN - 14.0;
        let head = |svg: &mut Svg, y: f64, text: &str| {
            let size = fitting(text, 13.0, true, room);
            svg.text((COLUMN, y), text, Lettering { bold: true, ..letters(size, INK) });
        };
        if !self.bands.is_empty() {
            head(svg, y, &self.band_title);
            y += 12.0;
            let count = self.bands.len();
            let step = 20.0;
            // What is above the last level stands at the top: white, as on the map.
            svg.rectangle((COLUMN, y), (26.0, step), "#ffffff", Some(stroke(FAINT, 0.6)));
            for (k, band) in self.bands.iter().enumerate().rev() {
                y += step;
                svg.rectangle((COLUMN, y), (26.0, step), &shade(k, count), Some(stroke(FAINT, 0.6)));
                svg.text((COLUMN + 34.0, y + 4.0), &band.label, letters(12.0, INK));
            }
            y += step + 26.0;
        }
        for family in &self.families {
            let sample = Stroke { colour: family.colour, width: 1.6, dashes: family.dashes };
            svg.polyline(&[(COLUMN, y - 4.0), (COLUMN + 30.0, y - 4.0)], sample);
            svg.text((COLUMN + 38.0, y), &family.name, letters(fitting(&family.name, 12.0, false, room - 38.0), INK));
            y += 19.0;
        }
        if !self.slants.is_empty() {
            svg.polyline(
                &[(COLUMN, y - 4.0), (COLUMN + 30.0, y - 4.0)],
                Stroke { colour: FAINT, width: 0.8, dashes: "7 5" },
            );
            svg.text((COLUMN + 38.0, y), &self.slant_title, letters(12.0, INK));
            y += 19.0;
        }
        if !self.marks.is_empty() {
            y += 14.0;
            head(svg, y, &self.mark_title);
            y += 20.0;
            for (index, mark) in self.marks.iter().enumerate() {
                let name = Lettering { bold: true, ..letters(12.0, INK) };
                svg.text((COLUMN, y), &(index + 1).to_string(), name);
                for (row, line) in mark.lines.iter().enumerate() {
                    let size = fitting(line, 11.5, row == 0, room - 18.0);
                    svg.text((COLUMN + 18.0, y), line, Lettering { bold: row == 0, ..letters(size, INK) });
                    y += 15.5;
                }
                y += 7.0;
            }
        }
        let mut y = SIZE.1 - 14.0 * self.notes.len() as f64 - 4.0;
        for note in &self.notes {
            svg.text((COLUMN, y), note, letters(fitting(note, 10.5, false, room), FAINT));
            y += 14.0;
        }
    }
}

/// How far from its first label a line may be labelled again, user units.
const AGAIN: f64 = 260.0;

/// The straightest stretch of a line that has room for a text of this half width and half height, far from a place where
/// it was written already; `None` where none is free.
fn seat(path: &[(f64, f64)], half: f64, high: f64, taken: &[Plate], first: Option<(f64, f64)>) -> Option<Plate> {
    // Length along the line up to each point.
    let mut along = vec![0.0];
    for pair in path.windows(2) {
        along.push(along[along.len() - 1] + (pair[1].0 - pair[0].0).hypot(pair[1].1 - pair[0].1));
    }
    let whole = along[along.len() - 1];
    if path.len() < 2 || whole < 2.6 * half {
        return None;
    }
    let at = |length: f64| {
        let k = along.partition_point(|sum| *sum <= length).clamp(1, path.len() - 1);
        let share = if along[k] > along[k - 1] { (length - along[k - 1]) / (along[k] - along[k - 1]) } else { 0.0 };
        let ((x, y), (u, v)) = (path[k - 1], path[k]);
        (x + share * (u - x), y + share * (v - y))
    };
    let tries = (whole / 6.0).ceil() as usize;
    let mut best: Option<(f64, Plate)> = None;
    for k in 0..=tries {
        let middle = half + (whole - 2.0 * half) * k as f64 / tries.max(1) as f64;
        let (a, b, centre) = (at(middle - half), at(middle + half), at(middle));
        let chord = (b.0 - a.0).hypot(b.1 - a.1);
        // Letters stand upright: from left to right.
        let (dx, dy) = if b.0 < a.0 { (a.0 - b.0, a.1 - b.1) } else { (b.0 - a.0, b.1 - a.1) };
        let plate = Plate { centre, half: (half + 1.0, high), degrees: dy.atan2(dx).to_degrees() };
        let bent = 1.0 - chord / (2.0 * half);
        if bent > 0.06 || !plate.inside((LEAST.0 + 2.0, LEAST.1 + 2.0), (MOST.0 - 2.0, MOST.1 - 2.0)) {
            continue;
        }
        if first.is_some_and(|(x, y)| (centre.0 - x).hypot(centre.1 - y) < AGAIN) {
            continue;
        }
        // Texts that hardly lean read best; near the middle of the line is better than at its ends.
        let cost = 10.0 * bent + plate.degrees.abs() / 180.0 + 0.3 * (middle / whole - 0.5).abs();
        if best.is_none_or(|(least, _)| cost < least) && !taken.iter().any(|other| other.meets(&plate)) {
            best = Some((cost, plate));
        }
    }
    best.map(|(_, plate)| plate)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_empty_chart_is_still_a_drawing() {
        let text = Chart::default().draw();
        assert!(text.starts_with("<?xml") && !text.contains("NaN") && !text.contains("inf"));
    }

    #[test]
    fn labels_stand_apart() {
        let line = |y: f64| (0..200).map(|k| (100.0 + 3.0 * f64::from(k), y)).collect::<Path>();
        let mut taken = Vec::new();
        for y in [300.0, 303.0, 306.0, 309.0] {
            let plate = seat(&line(y), 12.0, 7.0, &taken, None).expect("room on a long line");
            assert!(taken.iter().all(|other: &Plate| !other.meets(&plate)));
            taken.push(plate);
        }
        let short: Path = vec![(200.0, 200.0), (210.0, 200.0)];
        assert_eq!(seat(&short, 12.0, 7.0, &taken, None), None);
    }
}
