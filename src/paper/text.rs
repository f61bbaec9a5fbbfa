//! The fonts that are built in, and how wide words are in them.
//!
//! Atkinson Hyperlegible Next (SIL Open Font License 1.1) was drawn to keep
//! `1 l I` and `0 O` apart, which a dose and a phone number need. DejaVu Sans
//! (Bitstream Vera licence) stands in for scripts that it lacks.

use resvg::usvg::fontdb;
use skrifa::instance::{LocationRef, Size};
use skrifa::{FontRef, MetadataProvider};
use std::sync::{Arc, LazyLock};

const REGULAR: &[u8] = include_bytes!("fonts/AtkinsonHyperlegibleNext_400Regular.ttf");
const BOLD: &[u8] = include_bytes!("fonts/AtkinsonHyperlegibleNext_700Bold.ttf");
const OTHER_SCRIPTS: &[u8] = include_bytes!("fonts/DejaVuSans.ttf");

/// The family that drawings ask for.
pub(super) const FAMILY: &str = "Atkinson Hyperlegible Next";

const OTHER_FAMILY: &str = "DejaVu Sans";

/// Stands for what no font at hand can show, so that it is not lost silently.
const UNKNOWN: char = '\u{25A1}';

/// Every font, for the renderer.
pub(super) fn fonts() -> Arc<fontdb::Database> {
    static FONTS: LazyLock<Arc<fontdb::Database>> = LazyLock::new(|| {
        let mut fonts = fontdb::Database::new();
        for data in [REGULAR, BOLD, OTHER_SCRIPTS] {
            fonts.load_font_data(data.to_vec());
        }
        Arc::new(fonts)
    });
    FONTS.clone()
}

/// How heavy letters are.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Weight {
    Regular,
    Bold,
}

/// The words as they can be drawn: on one line, without marks that reorder
/// text, and with a box for what no font shows.
pub(super) fn drawable(words: &str) -> String {
    let mut shown = String::with_capacity(words.len());
    let mut stacked = 0;
    for c in words.chars() {
        let c = match c {
            '\u{2028}' | '\u{2029}' => ' ',
            c if c.is_control() || c.is_whitespace() => ' ',
            c if is_invisible(c) => continue,
            c if is_known(c) => c,
            _ => UNKNOWN,
        };
        stacked = if is_stacking(c) { stacked + 1 } else { 0 };
        if stacked > MOST_STACKED || matches!(c, ' ' | UNKNOWN) && shown.ends_with(c) {
            continue;
        }
        shown.push(c);
    }
    shown.trim().into()
}

/// Joiners, variation selectors, tags and skin tones of emoji, marks of
/// direction (Unicode Standard Annex 9), private-use characters.
fn is_invisible(c: char) -> bool {
    matches!(c,
        '\u{200B}'..='\u{200F}'
        | '\u{202A}'..='\u{202E}'
        | '\u{2060}'..='\u{206F}'
        | '\u{061C}' | '\u{FEFF}' | '\u{00AD}'
        | '\u{FE00}'..='\u{FE0F}'
        | '\u{1F3FB}'..='\u{1F3FF}'
        | '\u{E0000}'..='\u{E01EF}'
        | '\u{E000}'..='\u{F8FF}')
}

/// Marks pile up on a letter without end, and out of the page.
const MOST_STACKED: usize = 2;

/// The blocks of combining marks (Unicode Standard, section 7.9).
fn is_stacking(c: char) -> bool {
    matches!(c,
        '\u{0300}'..='\u{036F}'
        | '\u{1AB0}'..='\u{1AFF}'
        | '\u{1DC0}'..='\u{1DFF}'
        | '\u{20D0}'..='\u{20FF}'
        | '\u{FE20}'..='\u{FE2F}')
}

fn is_known(c: char) -> bool {
    Face::regular().units(c).is_some() || Face::other().units(c).is_some()
}

/// The words cut where the font changes: which family, and what is set in it.
/// A renderer left to itself sets the whole line in the other font.
pub(super) fn runs(words: &str, weight: Weight) -> Vec<(&'static str, String)> {
    let face = Face::of(weight);
    let mut runs: Vec<(&'static str, String)> = Vec::new();
    for c in words.chars() {
        let family = match runs.last() {
            // Spaces and marks stay with what they follow.
            Some((family, _)) if c == ' ' || is_stacking(c) => *family,
            _ if face.units(c).is_some() => FAMILY,
            _ => OTHER_FAMILY,
        };
        match runs.last_mut() {
            Some((last, run)) if *last == family => run.push(c),
            _ => runs.push((family, c.into())),
        }
    }
    runs
}

/// How wide words are at a size, in the unit of the size. Kerning is left out:
/// it makes a line a little narrower, never wider by more than a hair.
pub(super) fn width(words: &str, size: i64, weight: Weight) -> i64 {
    let face = Face::of(weight);
    let advance = |c| {
        face.advance(c, size)
            .or_else(|| Face::other().advance(c, size))
            .unwrap_or(size)
    };
    words.chars().map(advance).sum::<i64>() / PRECISION
}

/// Breaks words into lines that fit; a word that is longer than a line is cut.
pub(super) fn wrap(words: &str, size: i64, weight: Weight, most: i64) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    let mut line = String::new();
    for word in drawable(words).split(' ') {
        let longer = if line.is_empty() {
            word.to_owned()
        } else {
            format!("{line} {word}")
        };
        if width(&longer, size, weight) <= most {
            line = longer;
            continue;
        }
        if !line.is_empty() {
            lines.push(std::mem::take(&mut line));
        }
        line = word.into();
        while width(&line, size, weight) > most && line.chars().count() > 1 {
            let cut = cut_at(&line, size, weight, most);
            let rest = line.split_off(cut);
            lines.push(std::mem::replace(&mut line, rest));
        }
    }
    if !line.is_empty() {
        lines.push(line);
    }
    lines
}

/// The words and the size at which they fit on one line: smaller down to
/// `least`, and below that shortened.
pub(super) fn fit(words: &str, size: i64, least: i64, weight: Weight, most: i64) -> (String, i64) {
    let words = drawable(words);
    let mut size = size;
    while size > least && width(&words, size, weight) > most {
        size -= (size / 40).max(1);
    }
    if width(&words, size, weight) <= most {
        return (words, size);
    }
    // Each width is rounded down by less than one.
    let room = most - width("…", size, weight) - 1;
    let cut = cut_at(&words, size, weight, room);
    (format!("{}…", words[..cut].trim_end()), size)
}

/// Where to cut so that what stands before fits; after one character at least.
fn cut_at(words: &str, size: i64, weight: Weight, most: i64) -> usize {
    let ends = words.char_indices().map(|(start, c)| start + c.len_utf8());
    let fitting = ends.take_while(|end| width(&words[..*end], size, weight) <= most);
    let first = words.chars().next().map_or(0, char::len_utf8);
    fitting.last().unwrap_or(first)
}

/// Advances are summed in this fraction of the unit.
const PRECISION: i64 = 100;

struct Face {
    font: FontRef<'static>,
    units_per_em: i64,
    /// Advances of the characters that most words are made of: a page asks for
    /// some hundred thousand.
    common: Vec<Option<i64>>,
}

/// Latin with its marks lies below this.
const COMMON: u32 = 0x250;

impl Face {
    fn read(data: &'static [u8]) -> Face {
        // The data is part of the program, and every test of this file reads it.
        let font = FontRef::new(data).expect("a font that is built in can be read");
        let units_per_em = i64::from(
            font.metrics(Size::unscaled(), LocationRef::default())
                .units_per_em,
        );
        let common = (0..COMMON)
            .map(|c| advance(&font, char::from_u32(c)?))
            .collect();
        Face {
            font,
            units_per_em: units_per_em.max(1),
            common,
        }
    }

    fn of(weight: Weight) -> &'static Face {
        match weight {
            Weight::Regular => Face::regular(),
            Weight::Bold => Face::bold(),
        }
    }

    fn regular() -> &'static Face {
        static FACE: LazyLock<Face> = LazyLock::new(|| Face::read(REGULAR));
        &FACE
    }

    fn bold() -> &'static Face {
        static FACE: LazyLock<Face> = LazyLock::new(|| Face::read(BOLD));
        &FACE
    }

    fn other() -> &'static Face {
        static FACE: LazyLock<Face> = LazyLock::new(|| Face::read(OTHER_SCRIPTS));
        &FACE
    }

    /// In units of the font; none where it has no glyph.
    fn units(&self, c: char) -> Option<i64> {
        match self.common.get(c as usize) {
            Some(known) => *known,
            None => advance(&self.font, c),
        }
    }

    fn advance(&self, c: char, size: i64) -> Option<i64> {
        Some(self.units(c)? * size * PRECISION / self.units_per_em)
    }
}

fn advance(font: &FontRef<'_>, c: char) -> Option<i64> {
    let glyph = font.charmap().map(c)?;
    let metrics = font.glyph_metrics(Size::unscaled(), LocationRef::default());
    Some(metrics.advance_width(glyph)? as i64)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn spanish_needs_no_other_font() {
        for c in "áéíóúüñÁÉÍÓÚÜÑ¿¡«»“”·…,".chars() {
            assert!(Face::regular().units(c).is_some(), "{c}");
            assert!(Face::bold().units(c).is_some(), "{c}");
        }
    }

    #[test]
    fn what_no_font_shows_becomes_one_box() {
        assert_eq!(drawable("Ada \u{1F9A9}\u{1F9A9} 日本"), "Ada □ □");
        assert_eq!(drawable("a\u{202E}b\u{200D}\u{FE0F}"), "ab");
        assert_eq!(drawable(" a\r\n\tb "), "a b");
        assert_eq!(drawable("Łukasz Ωμέγα שלום"), "Łukasz Ωμέγα שלום");
    }

    #[test]
    fn the_font_changes_for_the_letters_that_need_it_alone() {
        let runs = runs("Rex רקס, 日", Weight::Bold);
        assert_eq!(
            runs,
            [
                (FAMILY, "Rex ".to_owned()),
                (OTHER_FAMILY, "רקס".to_owned()),
                (FAMILY, ", ".to_owned()),
                (OTHER_FAMILY, "日".to_owned()),
            ]
        );
        assert_eq!(fonts().faces().count(), 3);
        for family in [FAMILY, OTHER_FAMILY] {
            let is_named = |face: &fontdb::FaceInfo| face.families[0].0 == family;
            assert!(fonts().faces().any(is_named), "{family}");
        }
    }

    #[test]
    fn marks_do_not_pile_up() {
        let piled = format!("A{}b", "\u{0301}".repeat(20));
        assert_eq!(drawable(&piled), "A\u{0301}\u{0301}b");
    }

    proptest! {
        #[test]
        fn lines_fit_and_lose_nothing(words in "\\PC{0,200}", most in 200_i64..3000) {
            let lines = wrap(&words, 100, Weight::Regular, most);
            for line in &lines {
                let fits = width(line, 100, Weight::Regular) <= most;
                prop_assert!(fits || line.chars().count() == 1, "{line}");
            }
            let kept: String = lines.concat().replace(' ', "");
            prop_assert_eq!(kept, drawable(&words).replace(' ', ""));
        }

        #[test]
        fn a_fitted_line_fits(words in "\\PC{0,100}", most in 300_i64..3000) {
            let (shown, size) = fit(&words, 300, 90, Weight::Bold, most);
            prop_assert!(size <= 300);
            prop_assert!(width(&shown, size, Weight::Bold) <= most || shown.chars().count() <= 2);
        }
    }
}
