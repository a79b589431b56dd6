//! A system from above: the paths of bodies, the path of a voyage on them, and what happened where.

use super::svg::{Anchor, Lettering, Stroke, Svg};

/// Height of the drawing, user units; the map is a square of this side, the list of events stands to its right.
const SIDE: f64 = 760.0;
/// Width of the list of events, user units.
const LIST: f64 = 400.0;
/// Free rim around the map, user units.
const RIM: f64 = 34.0;

/// Nearer than this two points of a line are one, user units.
const FINEST: f64 = 0.6;

const INK: &str = "#222222";
const FAINT: &str = "#8a8f98";
const PATH_OF_BODY: &str = "#b4bac4";
/// Colours that readers with any common colour vision tell apart. [OkabeIto2008]
const LEGS: [&str; 6] = ["#0072b2", "#d55e00", "#009e73", "#cc79a7", "#e69f00", "#56b4e9"];

/// The path of a body through one of its years, seen from above.
#[derive(Clone, Debug)]
pub struct BodyPath {
    /// The name written beside it.
    pub name: String,
    /// Points in the plane of the drawing, m, about the centre.
    pub points: Vec<(f64, f64)>,
}

/// A stretch of the voyage, seen from above.
#[derive(Clone, Debug)]
pub struct Stretch {
    /// What it is called in the list.
    pub name: String,
    /// Points in the plane of the drawing, m, about the centre.
    pub points: Vec<(f64, f64)>,
}

/// Something that happened at a place.
#[derive(Clone, Debug)]
pub struct Mark {
    /// Place in the plane of the drawing, m, about the centre.
    pub at: (f64, f64),
    /// What happened, in one line.
    pub what: String,
    /// When, and how much, in one line.
    pub detail: String,
}

/// Everything that the drawing shows.
#[derive(Clone, Debug, Default)]
pub struct Plan {
    /// First line above the list.
    pub title: String,
    /// Second line above the list.
    pub subtitle: String,
    /// The name of the body in the middle.
    pub centre: String,
    /// What the plane is and where its x axis points, in one line.
    pub plane: String,
    /// The paths of bodies.
    pub bodies: Vec<BodyPath>,
    /// The voyage, in order.
    pub stretches: Vec<Stretch>,
    /// What happened, in order.
    pub marks: Vec<Mark>,
}

/// From metres in the plane to user units: the centre in the middle, y upwards.
struct Map {
    scale: f64,
}

impl Map {
    fn holding(plan: &Plan) -> Map {
        let places = plan
            .bodies
            .iter()
            .flat_map(|body| body.points.iter())
            .chain(plan.stretches.iter().flat_map(|stretch| stretch.points.iter()))
            .chain(plan.marks.iter().map(|mark| &mark.at));
        let extent = places.map(|(x, y)| x.hypot(*y)).filter(|r| r.is_finite()).fold(0.0, f64::max);
        Map { scale: if extent > 0.0 { (SIDE / 2.0 - RIM) / extent } else { 1.0 } }
    }

    fn place(&self, (x, y): (f64, f64)) -> (f64, f64) {
        (SIDE / 2.0 + x * self.scale, SIDE / 2.0 - y * self.scale)
    }

    /// The points of a line, without those that nobody could tell from the one before.
    fn path(&self, points: &[(f64, f64)]) -> Vec<(f64, f64)> {
        let mut kept: Vec<(f64, f64)> = Vec::new();
        for (index, point) in points.iter().enumerate() {
            let (x, y) = self.place(*point);
            let near = kept.last().is_some_and(|(u, v)| (u - x).hypot(v - y) < FINEST);
            if !near || index + 1 == points.len() {
                kept.push((x, y));
            }
        }
        kept
    }
}

impl Plan {
    /// The drawing as an SVG document.
    pub fn draw(&self) -> String {
        let map = Map::holding(self);
        let mut svg = Svg::blank(SIDE + LIST, SIDE, &self.title);
        self.draw_bodies(&map, &mut svg);
        for (index, stretch) in self.stretches.iter().enumerate() {
            let colour = LEGS[index % LEGS.len()];
            svg.polyline(&map.path(&stretch.points), Stroke { colour, width: 2.2, dashes: "" });
        }
        svg.circle((SIDE / 2.0, SIDE / 2.0), 6.0, "#e8b400", Some(line(INK, 0.8)));
        svg.text((SIDE / 2.0 + 10.0, SIDE / 2.0 + 16.0), &self.centre, small(FAINT));
        self.draw_marks(&map, &mut svg);
        self.draw_scale(&map, &mut svg);
        self.draw_list(&mut svg);
        svg.finish()
    }

    fn draw_bodies(&self, map: &Map, svg: &mut Svg) {
        for (index, body) in self.bodies.iter().enumerate() {
            let path = map.path(&body.points);
            svg.polyline(&path, line(PATH_OF_BODY, 1.0));
            // The names of neighbouring paths stand at different hours of the circle, so that they do not meet.
            let seat = (path.len() * (2 * index + 1)) / (2 * self.bodies.len().max(1));
            if let Some((x, y)) = path.get(seat.min(path.len().saturating_sub(1))) {
                svg.text((x + 5.0, y - 5.0), &body.name, small(FAINT));
            }
        }
    }

    fn draw_marks(&self, map: &Map, svg: &mut Svg) {
        let mut taken: Vec<(f64, f64)> = Vec::new();
        for (index, mark) in self.marks.iter().enumerate() {
            let (x, y) = map.place(mark.at);
            svg.circle((x, y), 3.4, INK, Some(line("#ffffff", 1.0)));
            // Several events at one place: their numbers stand side by side.
            let neighbours = taken.iter().filter(|(u, v)| (u - x).hypot(v - y) < 14.0).count();
            taken.push((x, y));
            let shift = 7.0 + 15.0 * neighbours as f64;
            svg.text((x + shift, y + 4.0), &(index + 1).to_string(), Lettering { bold: true, ..small(INK) });
        }
    }

    /// A bar of a round length, and the direction of the x axis.
    fn draw_scale(&self, map: &Map, svg: &mut Svg) {
        let (metres, label) = round_length(110.0 / map.scale);
        let (x, y) = (18.0, SIDE - 30.0);
        let length = metres * map.scale;
        svg.polyline(&[(x, y), (x + length, y)], line(INK, 1.6));
        for end in [x, x + length] {
            svg.polyline(&[(end, y - 4.0), (end, y + 4.0)], line(INK, 1.6));
        }
        svg.text((x + length + 8.0, y + 4.0), &label, small(INK));
        svg.text((x, y + 20.0), &self.plane, small(FAINT));
    }

    fn draw_list(&self, svg: &mut Svg) {
        let x = SIDE + 12.0;
        svg.text((x, 40.0), &self.title, Lettering { size: 18.0, bold: true, ..small(INK) });
        svg.text((x, 60.0), &self.subtitle, small(FAINT));
        let mut y = 92.0;
        for (index, stretch) in self.stretches.iter().enumerate() {
            let colour = LEGS[index % LEGS.len()];
            svg.polyline(&[(x, y - 4.0), (x + 26.0, y - 4.0)], Stroke { colour, width: 3.0, dashes: "" });
            svg.text((x + 34.0, y), &stretch.name, small(INK));
            y += 18.0;
        }
        y += 12.0;
        // A long voyage shares the height that is left among its events.
        let step = ((SIDE - 24.0 - y) / self.marks.len().max(1) as f64).min(34.0);
        for (index, mark) in self.marks.iter().enumerate() {
            svg.text((x, y), &(index + 1).to_string(), Lettering { bold: true, ..small(INK) });
            svg.text((x + 24.0, y), &mark.what, small(INK));
            if step >= 26.0 {
                svg.text((x + 24.0, y + 14.0), &mark.detail, Lettering { size: 11.0, ..small(FAINT) });
            }
            y += step;
        }
    }
}

fn line(colour: &str, width: f64) -> Stroke<'_> {
    Stroke { colour, width, dashes: "" }
}

fn small(colour: &str) -> Lettering<'_> {
    Lettering { size: 12.5, colour, anchor: Anchor::Start, bold: false }
}

/// The greatest of 1, 2, 5 times a power of ten not above `metres`, with its text.
fn round_length(metres: f64) -> (f64, String) {
    use visviva_engine::constants::ASTRONOMICAL_UNIT;
    let (unit, name) = if metres > 0.1 * ASTRONOMICAL_UNIT { (ASTRONOMICAL_UNIT, "au") } else { (1000.0, "km") };
    let wanted = (metres / unit).max(f64::MIN_POSITIVE);
    let power = 10f64.powf(wanted.log10().floor());
    let step = [5.0, 2.0, 1.0].into_iter().find(|step| step * power <= wanted * (1.0 + 1e-12)).unwrap_or(1.0);
    let value = step * power;
    let text = if value >= 1e6 { format!("{} million {name}", value / 1e6) } else { format!("{value} {name}") };
    (value * unit, text)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_bar_is_a_round_length() {
        assert_eq!(round_length(2.4e5), (2.0e5, "200 km".to_string()));
        assert_eq!(round_length(5.0e8), (5.0e8, "500000 km".to_string()));
        assert_eq!(round_length(1.7e11).1, "1 au");
    }

    #[test]
    fn an_empty_plan_is_still_a_drawing() {
        let text = Plan::default().draw();
        assert!(text.starts_with("<?xml") && text.trim_end().ends_with("</svg>"));
        assert!(!text.contains("NaN"));
    }
}
