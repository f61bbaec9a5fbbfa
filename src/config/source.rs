//! Reading a file from disk, with its troubles said as mistakes.

use super::mistake::{Mistake, Mistakes};
use std::fs::File;
use std::io::Read;
use std::path::Path;

/// No clinic writes a file like that by hand; a device file has no end at all.
const LARGEST_BYTES: u64 = 1 << 20;

/// The text of a file of at most 1 MiB of UTF-8.
pub(super) fn read(path: &Path) -> Result<String, Mistakes> {
    let file = path.display().to_string();
    let unreadable = |error: std::io::Error| {
        Mistakes::of_file(&file, format!("the file cannot be read: {error}"))
    };
    let mut bytes = Vec::new();
    File::open(path)
        .and_then(|open| open.take(LARGEST_BYTES + 1).read_to_end(&mut bytes))
        .map_err(unreadable)?;
    if bytes.len() as u64 > LARGEST_BYTES {
        let what = "the file is larger than 1 MiB; name a TOML file".to_owned();
        return Err(Mistakes::of_file(&file, what));
    }
    String::from_utf8(bytes).map_err(|error| {
        let good = error.utf8_error().valid_up_to();
        let newlines = error.as_bytes()[..good].iter().filter(|b| **b == b'\n');
        Mistakes(vec![Mistake {
            file: file.clone(),
            line: Some(newlines.count() + 1),
            key: String::new(),
            what: "this is not UTF-8 text; save the file as UTF-8".to_owned(),
        }])
    })
}
