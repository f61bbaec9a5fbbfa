//! How a text and its buttons fit the platform: pieces of at most 4096 units,
//! rows of buttons that a phone shows without cutting their labels.

use crate::channel::OutgoingButton;

/// The longest text of one message, in UTF-16 units (the Bot API's
/// documentation of `sendMessage`: "1-4096 characters"; the Bot API counts in
/// UTF-16 units, as its documentation of `MessageEntity` does).
const LONGEST: usize = 4096;

/// The text in pieces that each fit one message, parted at a line end, else
/// at a space, else between two characters. A text that fits stays as it is.
pub(super) fn pieces(text: &str) -> Vec<&str> {
    let mut pieces = Vec::new();
    let mut rest = text;
    while let Some(end) = first_beyond(rest) {
        let head = &rest[..end];
        let cut = [head.rfind('\n'), head.rfind(char::is_whitespace)]
            .into_iter()
            .flatten()
            .find(|cut| !head[..*cut].trim().is_empty())
            .unwrap_or(end);
        pieces.push(rest[..cut].trim_end());
        rest = rest[cut..].trim_start();
    }
    if !rest.is_empty() || pieces.is_empty() {
        pieces.push(rest);
    }
    pieces
}

/// Where the first character begins that no longer fits.
fn first_beyond(text: &str) -> Option<usize> {
    let mut units = 0;
    text.char_indices()
        .find(|(_, c)| {
            units += c.len_utf16();
            units > LONGEST
        })
        .map(|(at, _)| at)
}

/// The buttons in rows: three, two or one in a row, by the longest label.
///
/// The bounds (10 and 18 characters) are chosen by eye for a phone held
/// upright; common practice, no source.
pub(super) fn rows(buttons: &[OutgoingButton]) -> impl Iterator<Item = &[OutgoingButton]> {
    let longest = buttons.iter().map(|b| b.label.chars().count()).max();
    let a_row = match longest.unwrap_or(0) {
        0..=10 => 3,
        11..=18 => 2,
        _ => 1,
    };
    buttons.chunks(a_row)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn buttons(labels: &[&str]) -> Vec<OutgoingButton> {
        let button = |label: &&str| OutgoingButton {
            label: (*label).to_owned(),
            data: "d".to_owned(),
        };
        labels.iter().map(button).collect()
    }

    fn shape(labels: &[&str]) -> Vec<usize> {
        rows(&buttons(labels)).map(<[_]>::len).collect()
    }

    #[test]
    fn long_labels_stand_alone_and_short_ones_share_a_row() {
        assert_eq!(shape(&["Yes", "No", "Later", "Help"]), [3, 1]);
        assert_eq!(shape(&["Given at 07:30", "Not given", "Help"]), [2, 1]);
        assert_eq!(shape(&["Mixed a new vial just now", "No"]), [1, 1]);
        assert_eq!(shape(&[]), [0; 0]);
    }

    #[test]
    fn a_text_that_fits_is_left_alone() {
        let text = format!("  {}\n", "x".repeat(4093));
        assert_eq!(pieces(&text), [text.as_str()]);
        assert_eq!(pieces(""), [""]);
    }

    #[test]
    fn a_long_text_is_parted_at_a_line_end_before_a_space() {
        let line = "word ".repeat(700);
        let text = format!("{line}\n{line}");
        assert_eq!(pieces(&text), [line.trim_end(), line.as_str()]);
        let unbroken = "word ".repeat(1000);
        let parts = pieces(&unbroken);
        assert_eq!(parts.len(), 2);
        assert!(parts[0].ends_with("word"));
    }

    #[test]
    fn a_character_of_two_units_is_never_halved() {
        let text = "🐈".repeat(2049);
        let units = |piece: &&str| piece.encode_utf16().count();
        assert_eq!(
            pieces(&text).iter().map(units).collect::<Vec<_>>(),
            [4096, 2]
        );
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(64))]

        #[test]
        fn no_word_is_lost_and_every_piece_fits(words in prop::collection::vec("[a-zé🐈]{1,30}[ \n]{1,3}", 0..900)) {
            let text = words.concat();
            let parts = pieces(&text);
            for part in &parts {
                prop_assert!(part.encode_utf16().count() <= LONGEST);
            }
            let seen: Vec<_> = parts.iter().flat_map(|p| p.split_whitespace()).collect();
            prop_assert_eq!(seen, text.split_whitespace().collect::<Vec<_>>());
        }
    }
}
