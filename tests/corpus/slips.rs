//! One slip of the thumb: a letter dropped, doubled, swapped with the next, or its neighbour.

/// Shorter words have too many neighbours that are words themselves.
const SHORTEST: usize = 5;
const ROWS: [&str; 3] = ["qwertyuiop", "asdfghjkl", "zxcvbnm"];

/// The text with every single slip in one of its longer words.
pub fn slips(text: &str) -> Vec<String> {
    let letters: Vec<char> = text.chars().collect();
    let mut slipped = Vec::new();
    let mut from = 0;
    for word in letters.split(|letter| !letter.is_alphabetic()) {
        if word.len() >= SHORTEST {
            (from..from + word.len()).for_each(|at| slip_at(&letters, at, &mut slipped));
        }
        from += word.len() + 1;
    }
    slipped
}

fn slip_at(letters: &[char], at: usize, slipped: &mut Vec<String>) {
    let mut keep = |change: &dyn Fn(&mut Vec<char>)| {
        let mut changed = letters.to_vec();
        change(&mut changed);
        slipped.push(changed.into_iter().collect());
    };
    keep(&|text| {
        text.remove(at);
    });
    keep(&|text| text.insert(at, text[at]));
    if letters.get(at + 1).is_some_and(|next| next.is_alphabetic()) {
        keep(&|text| text.swap(at, at + 1));
    }
    for near in neighbours(letters[at]) {
        keep(&|text| text[at] = near);
    }
}

/// The keys left and right of a letter.
fn neighbours(letter: char) -> impl Iterator<Item = char> {
    let letter = letter.to_ascii_lowercase();
    ROWS.into_iter().flat_map(move |row| {
        let keys: Vec<char> = row.chars().collect();
        let place = keys.iter().position(|key| *key == letter);
        let beside = place.map(|at| [at.checked_sub(1), Some(at + 1)]);
        beside
            .into_iter()
            .flatten()
            .flatten()
            .filter_map(|at| keys.get(at).copied())
            .collect::<Vec<_>>()
    })
}
