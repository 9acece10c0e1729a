//! How wide a text is in print, and where it is broken.
//!
//! Widths are those of Liberation Sans 1.07.4 (read from the `hmtx` tables of its regular and bold files, rounded to thousandths of the type size),
//! which has the widths of Arial and Helvetica. What is not in the tables counts as a whole square, more than almost any letter needs. Whoever
//! draws says the width of every line with it, so that another face is squeezed or spread to fit.

use textwrap::core::Fragment;

/// Widths of the printable ASCII characters from the space on, in thousandths of the type size.
#[rustfmt::skip]
const REGULAR: [u16; 95] = [
    278, 278, 355, 556, 556, 889, 667, 191, 333, 333, 389, 584, 278, 333, 278, 278, // space to /
    556, 556, 556, 556, 556, 556, 556, 556, 556, 556, 278, 278, 584, 584, 584, 556, // 0 to ?
    1015, 667, 667, 722, 722, 667, 611, 778, 722, 278, 500, 667, 556, 833, 722, 778, // @ to O
    667, 778, 722, 667, 611, 722, 667, 944, 667, 667, 611, 278, 278, 278, 469, 556, // P to _
    333, 556, 556, 500, 556, 556, 278, 556, 556, 222, 222, 500, 222, 833, 556, 556, // ` to o
    556, 556, 333, 500, 278, 556, 500, 722, 500, 500, 500, 334, 260, 334, 584, // p to ~
];
/// The same, bold.
#[rustfmt::skip]
const BOLD: [u16; 95] = [
    278, 333, 474, 556, 556, 889, 722, 238, 333, 333, 389, 584, 278, 333, 278, 278, // space to /
    556, 556, 556, 556, 556, 556, 556, 556, 556, 556, 333, 333, 584, 584, 584, 611, // 0 to ?
    975, 722, 722, 722, 722, 667, 611, 778, 722, 278, 556, 722, 611, 833, 722, 778, // @ to O
    667, 778, 722, 667, 611, 722, 667, 944, 667, 667, 611, 333, 278, 333, 584, 556, // P to _
    333, 556, 611, 556, 611, 556, 333, 611, 611, 278, 278, 556, 278, 889, 611, 611, // ` to o
    611, 611, 389, 556, 333, 611, 556, 778, 556, 556, 500, 389, 280, 389, 584, // p to ~
];

/// Width of a text in type sizes.
#[must_use]
pub(super) fn width(text: &str, bold: bool) -> f64 {
    let table = if bold { &BOLD } else { &REGULAR };
    let units = |c: char| {
        let at = usize::try_from(u32::from(c).wrapping_sub(32)).unwrap_or(usize::MAX);
        table.get(at).copied().unwrap_or(1000)
    };
    text.chars().map(|c| f64::from(units(c)) / 1000.0).sum()
}

/// A word of a line that is being broken.
#[derive(Debug, Clone)]
struct Word<'t> {
    text: &'t str,
    width: f64,
    space: f64,
}

impl Fragment for Word<'_> {
    fn width(&self) -> f64 {
        self.width
    }
    fn whitespace_width(&self) -> f64 {
        self.space
    }
    fn penalty_width(&self) -> f64 {
        0.0
    }
}

/// The text in lines that are no wider than `most` type sizes. A word that is wider by itself is broken; a number stays with its unit's sign.
#[must_use]
pub(super) fn wrap(text: &str, most: f64, bold: bool) -> Vec<String> {
    let glued = text.replace(" %", "\u{a0}%");
    let apart = glued.split([' ', '\t', '\n']).filter(|w| !w.is_empty());
    let pieces: Vec<String> = apart.flat_map(|w| pieces(w, most, bold)).collect();
    let words: Vec<Word<'_>> = pieces
        .iter()
        .map(|text| Word {
            text,
            width: width(&text.replace('\u{a0}', " "), bold),
            space: width(" ", bold),
        })
        .collect();
    textwrap::wrap_algorithms::wrap_first_fit(&words, &[most])
        .into_iter()
        .map(|line| {
            line.iter()
                .map(|w| w.text)
                .collect::<Vec<_>>()
                .join(" ")
                .replace('\u{a0}', " ")
        })
        .filter(|line| !line.is_empty())
        .collect()
}

/// A word, or the parts of one that fit.
fn pieces(word: &str, most: f64, bold: bool) -> Vec<String> {
    let mut parts = vec![String::new()];
    let mut wide = 0.0;
    for c in word.chars() {
        let of_c = width(c.encode_utf8(&mut [0; 4]), bold);
        if wide + of_c > most && wide > 0.0 {
            parts.push(String::new());
            wide = 0.0;
        }
        wide += of_c;
        if let Some(last) = parts.last_mut() {
            last.push(c);
        }
    }
    parts
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_line_is_wider_than_asked() {
        for most in [2.0, 5.0, 12.5] {
            for text in [
                "Read the board before touching it: power lamp or display",
                "WWWWWWWWWWWWWWW",
                "a é 9 % ㄱ",
            ] {
                for line in wrap(text, most, true) {
                    assert!(width(&line, true) <= most + 1e-9, "{line}");
                }
            }
        }
    }

    #[test]
    fn a_share_stays_with_its_sign() {
        let lines = wrap("goes on 12 % of walks", 4.2, false);
        assert!(lines.iter().any(|l| l.contains("12 %")), "{lines:?}");
    }

    #[test]
    fn nothing_gives_no_line() {
        assert!(wrap(" ", 5.0, false).is_empty());
    }
}
