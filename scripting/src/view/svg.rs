//! A scalable vector graphic (W3C SVG 1.1) written element by element, on plain strings.

use std::fmt::Write as _;

/// Font families of every text, with a generic end, so that a picture reads alike where the first ones are missing.
const FONTS: &str = "DejaVu Sans, Verdana, Helvetica, Arial, sans-serif";

/// One drawing in user units (pixels at 96 per inch), x to the right and y downwards.
#[derive(Clone, Debug)]
pub struct Svg {
    width: f64,
    height: f64,
    body: String,
}

/// How a line or an outline is drawn.
#[derive(Clone, Copy, Debug)]
pub struct Stroke<'a> {
    /// Colour, as `#rrggbb`.
    pub colour: &'a str,
    /// Width, user units.
    pub width: f64,
    /// Pattern of dashes, empty for a whole line.
    pub dashes: &'a str,
}

/// Where a text hangs on its point.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Anchor {
    /// The text begins at the point.
    Start,
    /// The text is centred on the point.
    Middle,
    /// The text ends at the point.
    End,
}

/// How a text is drawn.
#[derive(Clone, Copy, Debug)]
pub struct Lettering<'a> {
    /// Height of the letters, user units.
    pub size: f64,
    /// Colour, as `#rrggbb`.
    pub colour: &'a str,
    /// Where the text hangs on its point.
    pub anchor: Anchor,
    /// Bold or plain.
    pub bold: bool,
}

impl Svg {
    /// An empty drawing on a white ground.
    pub fn blank(width: f64, height: f64, title: &str) -> Svg {
        let mut body = String::new();
        let _ = writeln!(body, "<title>{}</title>", escape(title));
        let _ = writeln!(body, r##"<rect width="{}" height="{}" fill="#ffffff"/>"##, number(width), number(height));
        Svg { width, height, body }
    }

    /// A chain of straight pieces through the points; fewer than two points draw nothing.
    pub fn polyline(&mut self, points: &[(f64, f64)], stroke: Stroke<'_>) {
        if points.len() < 2 {
            return;
        }
        let path: Vec<String> = points.iter().map(|(x, y)| format!("{},{}", number(*x), number(*y))).collect();
        let _ = writeln!(
            self.body,
            r#"<polyline points="{}" fill="none" stroke-linejoin="round" stroke-linecap="round"{}/>"#,
            path.join(" "),
            drawn(stroke)
        );
    }

    /// A circle, filled with a colour or `none`, with an outline if one is given.
    pub fn circle(&mut self, centre: (f64, f64), radius: f64, fill: &str, outline: Option<Stroke<'_>>) {
        let _ = writeln!(
            self.body,
            r#"<circle cx="{}" cy="{}" r="{}" fill="{fill}"{}/>"#,
            number(centre.0),
            number(centre.1),
            number(radius),
            outline.map(drawn).unwrap_or_default()
        );
    }

    /// A rectangle from its upper left corner, filled with a colour or `none`, with an outline if one is given.
    pub fn rectangle(&mut self, at: (f64, f64), size: (f64, f64), fill: &str, outline: Option<Stroke<'_>>) {
        let _ = writeln!(
            self.body,
            r#"<rect x="{}" y="{}" width="{}" height="{}" fill="{fill}"{}/>"#,
            number(at.0),
            number(at.1),
            number(size.0),
            number(size.1),
            outline.map(drawn).unwrap_or_default()
        );
    }

    /// What an odd number of the rings enclose, filled with a colour.
    pub fn area(&mut self, rings: &[Vec<(f64, f64)>], fill: &str) {
        let mut path = String::new();
        for ring in rings.iter().filter(|ring| ring.len() > 2) {
            for (index, (x, y)) in ring.iter().enumerate() {
                let _ = write!(path, "{}{} {}", if index == 0 { "M" } else { "L" }, number(*x), number(*y));
            }
            path.push('Z');
        }
        if !path.is_empty() {
            let _ = writeln!(self.body, r#"<path d="{path}" fill="{fill}" fill-rule="evenodd"/>"#);
        }
    }

    /// A text at a point of its base line.
    pub fn text(&mut self, at: (f64, f64), text: &str, lettering: Lettering<'_>) {
        self.turned_text(at, 0.0, text, lettering, None);
    }

    /// A text at a point of its base line, turned clockwise by so many degrees about it; with a halo of a colour around the
    /// letters where one is given, so that it reads on lines.
    pub fn turned_text(
        &mut self,
        at: (f64, f64),
        degrees: f64,
        text: &str,
        lettering: Lettering<'_>,
        halo: Option<&str>,
    ) {
        let anchor = match lettering.anchor {
            Anchor::Start => "start",
            Anchor::Middle => "middle",
            Anchor::End => "end",
        };
        let weight = if lettering.bold { r#" font-weight="bold""# } else { "" };
        let (x, y, size) = (number(at.0), number(at.1), number(lettering.size));
        let turn =
            if degrees == 0.0 { String::new() } else { format!(r#" transform="rotate({} {x} {y})""#, number(degrees)) };
        let text = escape(text);
        let place = format!(r#"x="{x}" y="{y}" font-size="{size}" text-anchor="{anchor}"{weight}{turn}"#);
        if let Some(halo) = halo {
            let _ = writeln!(
                self.body,
                r#"<text {place} fill="{halo}" stroke="{halo}" stroke-width="{}" stroke-linejoin="round">{text}</text>"#,
                number(0.28 * lettering.size)
            );
        }
        let _ = writeln!(self.body, r#"<text {place} fill="{}">{text}</text>"#, lettering.colour);
    }

    /// The whole document.
    pub fn finish(&self) -> String {
        let (width, height) = (number(self.width), number(self.height));
        format!(
            "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{width}\" \
             height=\"{height}\" viewBox=\"0 0 {width} {height}\" font-family=\"{FONTS}\">\n{}</svg>\n",
            self.body
        )
    }
}

fn drawn(stroke: Stroke<'_>) -> String {
    let dashes =
        if stroke.dashes.is_empty() { String::new() } else { format!(r#" stroke-dasharray="{}""#, stroke.dashes) };
    format!(r#" stroke="{}" stroke-width="{}"{dashes}"#, stroke.colour, number(stroke.width))
}

/// A coordinate with a hundredth of a pixel; a value that is not finite is drawn at the origin rather than breaking the file.
fn number(value: f64) -> String {
    if !value.is_finite() {
        return "0".to_string();
    }
    let text = format!("{value:.2}");
    let text = text.trim_end_matches('0').trim_end_matches('.');
    if text == "-0" { "0".to_string() } else { text.to_string() }
}

/// Text made safe inside an element. Characters that XML 1.0 forbids are left out.
pub fn escape(text: &str) -> String {
    text.chars().filter(|c| !c.is_control() || matches!(c, '\t' | '\n' | '\r')).fold(
        String::with_capacity(text.len()),
        |mut out, c| {
            match c {
                '&' => out.push_str("&amp;"),
                '<' => out.push_str("&lt;"),
                '>' => out.push_str("&gt;"),
                '"' => out.push_str("&quot;"),
                _ => out.push(c),
            }
            out
        },
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn text_cannot_break_out_of_its_element() {
        assert_eq!(escape("a<b & \"c\"\u{0}"), "a&lt;b &amp; &quot;c&quot;");
    }

    #[test]
    fn coordinates_are_short_and_finite() {
        assert_eq!(number(1.0), "1");
        assert_eq!(number(-0.001), "0");
        assert_eq!(number(f64::NAN), "0");
        assert_eq!(number(12.345), "12.35");
    }
}
