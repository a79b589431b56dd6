//! The same drawing in points: an SVG rendered to PNG, with the letters of the fonts embedded here and no others.

use std::sync::Arc;

use resvg::tiny_skia::{Pixmap, Transform};
use resvg::usvg::{Options, Tree, fontdb};

/// Points per user unit, so that a picture is sharp in print.
const SCALE: f32 = 2.0;

/// Most points along a side.
const MOST: f32 = 8192.0;

/// DejaVu Sans; the folder tells where it is from and under which terms.
const FONTS: [&[u8]; 2] =
    [include_bytes!("../../fonts/DejaVuSans-subset.ttf"), include_bytes!("../../fonts/DejaVuSans-Bold-subset.ttf")];

/// The PNG file of an SVG document; `None` for what is none, or has no size.
pub fn of(svg: &str) -> Option<Vec<u8>> {
    let mut fonts = fontdb::Database::new();
    for font in FONTS {
        fonts.load_font_data(font.to_vec());
    }
    let options = Options { fontdb: Arc::new(fonts), font_family: "DejaVu Sans".to_owned(), ..Options::default() };
    let tree = Tree::from_str(svg, &options).ok()?;
    let size = tree.size();
    let (width, height) = ((SCALE * size.width()).ceil(), (SCALE * size.height()).ceil());
    if width > MOST || height > MOST {
        return None;
    }
    let mut points = Pixmap::new(width as u32, height as u32)?;
    resvg::render(&tree, Transform::from_scale(SCALE, SCALE), &mut points.as_mut());
    points.encode_png().ok()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::view::svg::{Anchor, Lettering, Svg};

    #[test]
    fn a_drawing_has_its_size_and_its_letters() {
        let blank = |text: &str| {
            let mut svg = Svg::blank(60.0, 40.0, "t");
            let lettering = Lettering { size: 12.0, colour: "#000000", anchor: Anchor::Start, bold: false };
            svg.text((4.0, 20.0), text, lettering);
            of(&svg.finish()).expect("a picture")
        };
        let (with, without) = (blank("Δv µ²"), blank(""));
        // The signature, then width and height in the header's first eight bytes. [PNG], section 11.2.2
        assert_eq!(&with[..8], b"\x89PNG\r\n\x1a\n");
        assert_eq!((&with[16..20], &with[20..24]), (&120_u32.to_be_bytes()[..], &80_u32.to_be_bytes()[..]));
        assert_ne!(with, without, "the letters are drawn");
        assert_eq!(of("no drawing"), None);
    }
}
