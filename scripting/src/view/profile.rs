//! An ascent in pictures: height over distance along the ground, and below each other over time what the craft went through.

use super::lettering::width;
use super::svg::{Anchor, Lettering, Stroke, Svg};

/// Size of the drawing, user units.
const SIZE: (f64, f64) = (1140.0, 820.0);
/// The map of the path: upper left and lower right corner.
const MAP: [(f64, f64); 2] = [(84.0, 108.0), (560.0, 448.0)];
/// The panels over time: left, right, top, bottom of all.
const PANELS: [f64; 4] = [664.0, 1104.0, 108.0, 756.0];
/// Between two panels.
const GAP: f64 = 24.0;
/// The list of what happened: left end, top, bottom.
const LIST: [f64; 3] = [84.0, 518.0, 786.0];

const INK: &str = "#1c1e22";
const FAINT: &str = "#5f6670";
const PALE: &str = "#d7dbe1";
const PATH: &str = "#1f4e79";

/// Nearer than this two points of a line are one, user units.
const FINEST: f64 = 0.5;

/// A quantity over time.
#[derive(Debug, Clone, Default)]
pub struct Panel {
    /// The quantity.
    pub title: String,
    /// Its unit.
    pub unit: &'static str,
    /// Time (s from the start) and value in the unit; a gap where the line is broken.
    pub lines: Vec<Vec<(f64, f64)>>,
    /// The same for a second quantity, drawn in dashes; the title tells which.
    pub dashed: Vec<Vec<(f64, f64)>>,
    /// The greatest value and when, with its text, where it is to be marked.
    pub peak: Option<(f64, f64, String)>,
}

/// Something that happened on the way.
#[derive(Debug, Clone)]
pub struct Event {
    /// s from the start.
    pub time: f64,
    /// Distance along the ground and height, km.
    pub at: (f64, f64),
    /// What, in one line.
    pub what: String,
    /// How things stood, in one line.
    pub detail: String,
}

/// Everything that the drawing shows.
#[derive(Debug, Clone, Default)]
pub struct Profile {
    /// First line.
    pub title: String,
    /// Second line.
    pub subtitle: String,
    /// Distance along the ground and height, km.
    pub path: Vec<(f64, f64)>,
    /// From top to bottom.
    pub panels: Vec<Panel>,
    /// In order.
    pub events: Vec<Event>,
    /// Last lines: what the speed was gained from and lost to.
    pub notes: Vec<String>,
}

fn letters(size: f64, colour: &str) -> Lettering<'_> {
    Lettering { size, colour, anchor: Anchor::Start, bold: false }
}

fn stroke(colour: &str, width: f64) -> Stroke<'_> {
    Stroke { colour, width, dashes: "" }
}

/// An axis from 0, or from below it, with round ticks: low, high, step.
fn axis(low: f64, high: f64, ticks: f64) -> (f64, f64, f64) {
    let (low, high) = (low.min(0.0), if high > low.min(0.0) { high } else { low.min(0.0) + 1.0 });
    let raw = (high - low) / ticks;
    let power = 10f64.powf(raw.log10().floor());
    let step = [1.0, 2.0, 5.0, 10.0].into_iter().map(|step| step * power).find(|step| *step >= raw * (1.0 - 1e-9));
    let step = step.unwrap_or(power);
    ((low / step).floor() * step, (high / step - 1e-9).ceil() * step, step)
}

fn tick_text(value: f64, step: f64) -> String {
    let digits = if step < 1.0 { (-step.log10()).ceil() as usize } else { 0 };
    format!("{value:.digits$}")
}

/// A frame with its two axes.
struct Frame {
    least: (f64, f64),
    most: (f64, f64),
    across: (f64, f64, f64),
    up: (f64, f64, f64),
}

impl Frame {
    fn place(&self, (x, y): (f64, f64)) -> (f64, f64) {
        let share = |axis: &(f64, f64, f64), value: f64| (value - axis.0) / (axis.1 - axis.0);
        (
            self.least.0 + share(&self.across, x) * (self.most.0 - self.least.0),
            self.most.1 - share(&self.up, y) * (self.most.1 - self.least.1),
        )
    }

    fn line(&self, svg: &mut Svg, points: &[(f64, f64)], stroke: Stroke<'_>) {
        let mut kept: Vec<(f64, f64)> = Vec::new();
        for (index, point) in points.iter().enumerate() {
            let (x, y) = self.place(*point);
            let near = kept.last().is_some_and(|(u, v)| (u - x).hypot(v - y) < FINEST);
            if !near || index + 1 == points.len() {
                kept.push((x, y));
            }
        }
        svg.polyline(&kept, stroke);
    }

    /// Ground, ticks with their numbers, outline; the numbers below only where they are asked for.
    fn draw(&self, svg: &mut Svg, below: bool) {
        // An axis need not end at a tick.
        let count = |axis: &(f64, f64, f64)| ((axis.1 - axis.0) / axis.2 + 1e-9).floor() as usize;
        for k in 0..=count(&self.across) {
            let value = self.across.0 + k as f64 * self.across.2;
            let (x, _) = self.place((value, self.up.0));
            svg.polyline(&[(x, self.least.1), (x, self.most.1)], stroke(PALE, 0.6));
            if below {
                let at = (x, self.most.1 + 17.0);
                svg.text(
                    at,
                    &tick_text(value, self.across.2),
                    Lettering { anchor: Anchor::Middle, ..letters(12.0, INK) },
                );
            }
        }
        for k in 0..=count(&self.up) {
            let value = self.up.0 + k as f64 * self.up.2;
            let (_, y) = self.place((self.across.0, value));
            svg.polyline(&[(self.least.0, y), (self.most.0, y)], stroke(PALE, 0.6));
            let at = (self.least.0 - 7.0, y + 4.2);
            svg.text(at, &tick_text(value, self.up.2), Lettering { anchor: Anchor::End, ..letters(12.0, INK) });
        }
        let size = (self.most.0 - self.least.0, self.most.1 - self.least.1);
        svg.rectangle(self.least, size, "none", Some(stroke(FAINT, 0.9)));
    }
}

impl Profile {
    /// The drawing as an SVG document.
    pub fn draw(&self) -> String {
        let mut svg = Svg::blank(SIZE.0, SIZE.1, &self.title);
        svg.text((MAP[0].0, 40.0), &self.title, Lettering { bold: true, ..letters(19.0, INK) });
        svg.text((MAP[0].0, 62.0), &self.subtitle, letters(12.5, FAINT));
        self.draw_path(&mut svg);
        self.draw_panels(&mut svg);
        self.draw_list(&mut svg);
        svg.finish()
    }

    fn draw_path(&self, svg: &mut Svg) {
        let most = |pick: fn(&(f64, f64)) -> f64| self.path.iter().map(pick).fold(0.0, f64::max);
        let least = |pick: fn(&(f64, f64)) -> f64| self.path.iter().map(pick).fold(0.0, f64::min);
        let frame = Frame {
            least: MAP[0],
            most: MAP[1],
            across: axis(least(|p| p.0), most(|p| p.0), 6.0),
            up: axis(least(|p| p.1), most(|p| p.1), 6.0),
        };
        frame.draw(svg, true);
        frame.line(svg, &self.path, stroke(PATH, 2.2));
        svg.text((MAP[0].0, MAP[0].1 - 9.0), "height, km", Lettering { bold: true, ..letters(12.5, INK) });
        let below = Lettering { anchor: Anchor::Middle, bold: true, ..letters(12.5, INK) };
        svg.text((0.5 * (MAP[0].0 + MAP[1].0), MAP[1].1 + 37.0), "distance along the ground, km", below);
        let mut taken: Vec<(f64, f64)> = Vec::new();
        for (index, event) in self.events.iter().enumerate() {
            let (x, y) = frame.place(event.at);
            svg.circle((x, y), 3.2, INK, Some(stroke("#ffffff", 1.0)));
            // Numbers stand above and left of the path, and step aside for one another.
            let mut seat = (x - 8.0, y - 8.0);
            let meets = |seat: (f64, f64), taken: &[(f64, f64)]| {
                taken.iter().any(|(u, v)| (u - seat.0).abs() < 15.0 && (v - seat.1).abs() < 13.0)
            };
            while meets(seat, &taken) {
                seat.0 -= 15.0;
            }
            // Near the left edge they stand right of the path, above the axis.
            if seat.0 < MAP[0].0 + 12.0 {
                seat = (x + 22.0, y.min(MAP[1].1 - 6.0) - 2.0);
                while meets(seat, &taken) {
                    seat.0 += 15.0;
                }
            }
            taken.push(seat);
            let number = Lettering { anchor: Anchor::End, bold: true, ..letters(12.0, INK) };
            svg.turned_text(seat, 0.0, &(index + 1).to_string(), number, Some("#ffffff"));
        }
    }

    fn draw_panels(&self, svg: &mut Svg) {
        let count = self.panels.len().max(1) as f64;
        let high = (PANELS[3] - PANELS[2] - GAP * (count - 1.0)) / count;
        let times = self.panels.iter().flat_map(|panel| panel.lines.iter().flatten()).map(|point| point.0);
        let across = {
            let last = times.fold(0.0, f64::max);
            let (low, _, step) = axis(0.0, last, 6.0);
            // The panels end with the flight, not with a round figure.
            (low, if last > 0.0 { last } else { 1.0 }, step)
        };
        for (index, panel) in self.panels.iter().enumerate() {
            let top = PANELS[2] + index as f64 * (high + GAP);
            let values = || panel.lines.iter().chain(&panel.dashed).flatten().map(|point| point.1);
            let mut up = axis(values().fold(0.0, f64::min), values().fold(0.0, f64::max), 3.0);
            // A line along the frame would be taken for it, and the greatest value wants room for its text.
            if values().fold(0.0, f64::max) > up.0 + if panel.peak.is_some() { 0.8 } else { 0.95 } * (up.1 - up.0) {
                up.1 += 0.5 * up.2;
            }
            let frame = Frame { least: (PANELS[0], top), most: (PANELS[1], top + high), across, up };
            for event in &self.events {
                let (x, _) = frame.place((event.time, up.0));
                svg.polyline(&[(x, top), (x, top + high)], Stroke { colour: FAINT, width: 0.8, dashes: "2 3" });
            }
            frame.draw(svg, index + 1 == self.panels.len());
            for line in &panel.dashed {
                frame.line(svg, line, Stroke { colour: PATH, width: 1.1, dashes: "4 3" });
            }
            for line in &panel.lines {
                frame.line(svg, line, stroke(PATH, 1.8));
            }
            let title = format!("{}, {}", panel.title, panel.unit);
            let plain = Lettering { bold: true, ..letters(12.0, INK) };
            svg.text((PANELS[0], top - 5.0), &title, plain);
            if let Some((time, value, text)) = &panel.peak {
                let (x, y) = frame.place((*time, *value));
                svg.circle((x, y), 2.8, "#ffffff", Some(stroke(PATH, 1.4)));
                let half = 0.5 * width(text, 11.5, false);
                let at = (x.clamp(PANELS[0] + half + 4.0, PANELS[1] - half - 4.0), (y - 7.0).max(top + 12.0));
                let middle = Lettering { anchor: Anchor::Middle, ..letters(11.5, INK) };
                svg.turned_text(at, 0.0, text, middle, Some("#ffffff"));
            }
        }
        // Numbers of the events above the first panel, as far as they do not meet.
        let mut last = f64::NEG_INFINITY;
        for (index, event) in self.events.iter().enumerate() {
            let x = PANELS[0] + event.time / across.1 * (PANELS[1] - PANELS[0]);
            if x > last + 15.0 {
                let number = Lettering { anchor: Anchor::Middle, bold: true, ..letters(11.5, FAINT) };
                svg.text((x, PANELS[2] - 22.0), &(index + 1).to_string(), number);
                last = x;
            }
        }
        let below = Lettering { anchor: Anchor::Middle, bold: true, ..letters(12.5, INK) };
        svg.text((0.5 * (PANELS[0] + PANELS[1]), PANELS[3] + 37.0), "time from the start, s", below);
    }

    fn draw_list(&self, svg: &mut Svg) {
        let rows = self.events.len() as f64 + self.notes.len() as f64 + 0.8;
        let step = ((LIST[2] - LIST[1]) / rows.max(1.0)).min(20.0);
        let size = (0.68 * step).min(12.5);
        let mut y = LIST[1];
        for (index, event) in self.events.iter().enumerate() {
            svg.text(
                (LIST[0] - 6.0, y),
                &(index + 1).to_string(),
                Lettering { anchor: Anchor::End, bold: true, ..letters(size, INK) },
            );
            svg.text(
                (LIST[0] + 58.0, y),
                &format!("{:.1} s", event.time),
                Lettering { anchor: Anchor::End, ..letters(size, INK) },
            );
            svg.text((LIST[0] + 72.0, y), &event.what, letters(size, INK));
            svg.text((MAP[1].0, y), &event.detail, Lettering { anchor: Anchor::End, ..letters(size, FAINT) });
            y += step;
        }
        y += 0.8 * step;
        for note in &self.notes {
            svg.text((LIST[0], y), note, letters(size, INK));
            y += step;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn axes_end_on_round_figures() {
        assert_eq!(axis(0.0, 183.0, 6.0), (0.0, 200.0, 50.0));
        assert_eq!(axis(-0.3, 1.0, 3.0), (-0.5, 1.0, 0.5));
        assert_eq!(axis(0.0, 0.0, 3.0), (0.0, 1.0, 0.5));
        assert_eq!(tick_text(0.25, 0.05), "0.25");
    }

    #[test]
    fn an_empty_profile_is_still_a_drawing() {
        let text = Profile::default().draw();
        assert!(text.starts_with("<?xml") && text.trim_end().ends_with("</svg>") && !text.contains("NaN"));
    }
}
