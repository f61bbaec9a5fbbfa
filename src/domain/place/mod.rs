//! From a place to its zone, offline. A guess, and treated as one: the time
//! that it is there is read back before anything changes.

use super::zone::Zone;

const ZONES: &str = include_str!("zones.txt");
const CITIES: &str = include_str!("cities.txt");
/// A quarter of the way to the next line of longitude is far for a town: beyond
/// this, in millionths of a degree, no zone's principal place is near.
const TOO_FAR: i128 = 12_000_000;

/// The zone of a place by its name: an IANA name, or a city in English or Spanish.
///
/// ```
/// use vialbell::domain::place::by_name;
/// assert_eq!(by_name("Sevilla").unwrap().name(), "Europe/Madrid");
/// assert_eq!(by_name("new york").unwrap().name(), "America/New_York");
/// assert_eq!(by_name("the moon"), None);
/// ```
pub fn by_name(words: &str) -> Option<Zone> {
    if let Ok(zone) = Zone::named(words.trim()) {
        return Some(zone);
    }
    let wanted = plain(words);
    if wanted.is_empty() {
        return None;
    }
    let city = |line: &'static str| {
        let (zone, cities) = line.split_once(": ")?;
        cities
            .split(", ")
            .any(|city| plain(city) == wanted)
            .then_some(zone)
    };
    let principal = || {
        rows(ZONES).find_map(|line| {
            let (zone, _) = line.split_once(' ')?;
            let (_, place) = zone.rsplit_once('/')?;
            (plain(place) == wanted).then_some(zone)
        })
    };
    let zone = rows(CITIES).find_map(city).or_else(principal)?;
    Zone::named(zone).ok()
}

/// The zone whose principal place is nearest to a point, in millionths of a
/// degree north and east. Near a border it may be the neighbour's.
pub fn by_position(north: i64, east: i64) -> Option<Zone> {
    let (north, east) = (i128::from(north), i128::from(east));
    let in_range =
        (-90_000_000..=90_000_000).contains(&north) && (-180_000_000..=180_000_000).contains(&east);
    if !in_range {
        return None;
    }
    let nearest = rows(ZONES)
        .filter_map(|line| {
            let (zone, position) = line.split_once(' ')?;
            let (n, e) = position_of(position)?;
            Some((distance_squared(north, east, n, e), zone))
        })
        .min()?;
    (nearest.0 <= TOO_FAR * TOO_FAR).then(|| Zone::named(nearest.1).ok())?
}

fn rows(table: &'static str) -> impl Iterator<Item = &'static str> {
    table.lines().filter(|line| !line.starts_with('#'))
}

/// Lower case, without accents, and with one space between words.
fn plain(words: &str) -> String {
    let lower = words.to_lowercase();
    let letters = lower.chars().map(|c| match c {
        'á' | 'à' | 'â' | 'ä' | 'ã' => 'a',
        'é' | 'è' | 'ê' | 'ë' => 'e',
        'í' | 'ì' | 'î' | 'ï' => 'i',
        'ó' | 'ò' | 'ô' | 'ö' | 'õ' => 'o',
        'ú' | 'ù' | 'û' | 'ü' => 'u',
        'ñ' => 'n',
        'ç' => 'c',
        c if c.is_alphanumeric() => c,
        _ => ' ',
    });
    let letters: String = letters.collect();
    letters.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// `±DDMM±DDDMM` or `±DDMMSS±DDDMMSS` (ISO 6709) in millionths of a degree.
fn position_of(text: &str) -> Option<(i128, i128)> {
    let split = text
        .char_indices()
        .skip(1)
        .find(|(_, c)| matches!(c, '+' | '-'))?
        .0;
    Some((angle(&text[..split], 2)?, angle(&text[split..], 3)?))
}

fn angle(text: &str, degree_digits: usize) -> Option<i128> {
    let sign = if text.starts_with('-') { -1 } else { 1 };
    let digits = text.get(1..)?;
    let degrees: i128 = digits.get(..degree_digits)?.parse().ok()?;
    let minutes: i128 = digits.get(degree_digits..degree_digits + 2)?.parse().ok()?;
    let seconds: i128 = match digits.get(degree_digits + 2..) {
        None | Some("") => 0,
        Some(seconds) => seconds.parse().ok()?,
    };
    Some(sign * ((degrees * 3600 + minutes * 60 + seconds) * 1_000_000 / 3600))
}

/// In square millionths of a degree of latitude; degrees of longitude shrink
/// towards the poles by the cosine, taken here as (32400 - 4x²)/(32400 + x²) for
/// x degrees (Bhaskara's formula, off by 0.002 at most).
fn distance_squared(north: i128, east: i128, n: i128, e: i128) -> i128 {
    let middle = (north + n) / 2_000_000;
    let (above, below) = (32_400 - 4 * middle * middle, 32_400 + middle * middle);
    let straight = (east - e).abs();
    let around = straight.min(360_000_000 - straight);
    let east_west = around * above.max(0) / below;
    let north_south = north - n;
    north_south * north_south + east_west * east_west
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_row_of_both_tables_names_a_zone() {
        let mut count = 0;
        for line in rows(ZONES) {
            let (zone, position) = line.split_once(' ').unwrap();
            assert!(Zone::named(zone).is_ok(), "{zone}");
            assert!(position_of(position).is_some(), "{line}");
            count += 1;
        }
        assert!(count > 400, "{count} rows");
        for line in rows(CITIES) {
            assert!(
                Zone::named(line.split_once(": ").unwrap().0).is_ok(),
                "{line}"
            );
        }
    }

    #[test]
    fn places_are_found_by_name_however_they_are_typed() {
        for (words, zone) in [
            ("Barcelona", Some("Europe/Madrid")),
            ("ciudad de méxico", Some("America/Mexico_City")),
            ("Mexico City", Some("America/Mexico_City")),
            ("BUENOS AIRES", Some("America/Argentina/Buenos_Aires")),
            ("America/Denver", Some("America/Denver")),
            ("Las Palmas", Some("Atlantic/Canary")),
            ("", None),
            ("my sister's", None),
        ] {
            assert_eq!(by_name(words).map(Zone::name), zone, "{words}");
        }
    }

    #[test]
    fn places_are_found_on_the_map() {
        // Positions of cities from memory, to a tenth of a degree.
        for (north, east, zone) in [
            (40_700_000, -74_000_000, "America/New_York"),
            (41_900_000, -87_600_000, "America/Chicago"),
            (39_700_000, -105_000_000, "America/Denver"),
            (40_400_000, -3_700_000, "Europe/Madrid"),
            (-33_900_000, 151_200_000, "Australia/Sydney"),
            (-18_100_000, 178_400_000, "Pacific/Fiji"),
        ] {
            assert_eq!(by_position(north, east).map(Zone::name), Some(zone));
        }
        assert_eq!(by_position(0, -130_000_000), None, "the open sea");
        assert_eq!(by_position(91_000_000, 0), None);
    }
}
