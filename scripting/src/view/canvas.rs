//! Pictures on a terminal: dots of braille, two by four to a character.

/// A field of dots, written as characters of Unicode's braille patterns (U+2800 and on).
#[derive(Debug, Clone)]
pub struct Canvas {
    columns: usize,
    lines: usize,
    cells: Vec<char>,
}

/// The bit of each dot: first the column, then the line within a character. [Unicode], block of braille patterns
const BITS: [[u32; 4]; 2] = [[0x01, 0x02, 0x04, 0x40], [0x08, 0x10, 0x20, 0x80]];

/// The order in which the dots of a square of four by four come on as it darkens. [Bayer1973]
const ORDER: [[u8; 4]; 4] = [[0, 8, 2, 10], [12, 4, 14, 6], [3, 11, 1, 9], [15, 7, 13, 5]];

impl Canvas {
    /// Without a dot, so many characters wide and high.
    pub fn blank(columns: usize, lines: usize) -> Self {
        Self { columns, lines, cells: vec!['\u{2800}'; columns * lines] }
    }

    /// Dots across and down.
    pub fn dots(&self) -> (usize, usize) {
        (2 * self.columns, 4 * self.lines)
    }

    /// Sets a dot, counted from the upper left; one outside is left out.
    pub fn dot(&mut self, x: usize, y: usize) {
        let (column, line) = (x / 2, y / 4);
        if column >= self.columns || line >= self.lines {
            return;
        }
        let cell = &mut self.cells[line * self.columns + column];
        let bits = (*cell as u32).wrapping_sub(0x2800);
        if bits < 0x100 {
            *cell = char::from_u32(0x2800 + (bits | BITS[x % 2][y % 4])).unwrap_or(*cell);
        }
    }

    /// Sets a dot if the ground there is this dark, from 0 (no dot) to 1 (all).
    pub fn shade(&mut self, x: usize, y: usize, darkness: f64) {
        if darkness * 16.0 > f64::from(ORDER[y % 4][x % 4]) + 0.5 {
            self.dot(x, y);
        }
    }

    /// Writes a character over the dots of its cell, by the dot it stands on.
    pub fn write(&mut self, x: usize, y: usize, letter: char) {
        let (column, line) = (x / 2, y / 4);
        if column < self.columns && line < self.lines {
            self.cells[line * self.columns + column] = letter;
        }
    }

    /// The lines of text, top first.
    pub fn text(&self) -> Vec<String> {
        self.cells.chunks(self.columns.max(1)).map(|line| line.iter().collect()).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn dots_have_their_places() {
        let mut canvas = Canvas::blank(2, 1);
        canvas.dot(0, 0);
        canvas.dot(1, 3);
        canvas.dot(2, 1);
        canvas.dot(9, 9);
        assert_eq!(canvas.text(), ["\u{2881}\u{2802}"]);
        canvas.write(3, 3, '1');
        canvas.dot(3, 3);
        assert_eq!(canvas.text(), ["\u{2881}1"]);
    }

    #[test]
    fn darker_ground_has_more_dots() {
        let count = |darkness: f64| {
            let mut canvas = Canvas::blank(4, 2);
            for x in 0..8 {
                for y in 0..8 {
                    canvas.shade(x, y, darkness);
                }
            }
            canvas.text().iter().flat_map(|line| line.chars()).map(|c| (c as u32 - 0x2800).count_ones()).sum::<u32>()
        };
        assert_eq!([count(0.0), count(0.5), count(1.0)], [0, 32, 64]);
    }
}
