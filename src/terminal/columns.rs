//! Lines whose parts stand below one another.

/// Rows as lines: each part as wide as the widest of its column, the last as it is.
pub(super) fn columns(rows: &[Vec<String>]) -> Vec<String> {
    let count = rows.iter().map(Vec::len).max().unwrap_or(0);
    let widths: Vec<usize> = (0..count)
        .map(|column| {
            let cells = rows.iter().filter_map(|row| row.get(column));
            cells.map(|cell| cell.chars().count()).max().unwrap_or(0)
        })
        .collect();
    rows.iter()
        .map(|row| {
            let cells: Vec<String> = row
                .iter()
                .zip(&widths)
                .map(|(cell, width)| {
                    format!(
                        "{}{}",
                        one_line(cell),
                        " ".repeat(width - cell.chars().count())
                    )
                })
                .collect();
            cells.join("  ").trim_end().to_owned()
        })
        .collect()
}

/// Names come from people: none of them begins a line or moves the cursor.
fn one_line(words: &str) -> String {
    words
        .chars()
        .map(|c| if c.is_control() { ' ' } else { c })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn parts_stand_below_one_another() {
        let rows = [["1.1", "Ñandú", "x"], ["12.1", "Bo\n\u{1b}[2J", "yy"]];
        let rows = rows.map(|row| row.map(str::to_owned).to_vec());
        assert_eq!(columns(&rows), ["1.1   Ñandú    x", "12.1  Bo  [2J  yy"]);
    }
}
