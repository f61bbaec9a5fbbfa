//! The papers as a printer and a phone show them. What this writes is for a
//! person to look at as well.

use crate::home::{Home, ODD_NAMES, Setting};
use chrono::TimeDelta;
use std::path::{Path, PathBuf};
use std::process::Command;
use vialbell::paper::{picture, sheet};

/// The folder named by `VIALBELL_PAPERS`, else one of the build's own.
fn folder() -> PathBuf {
    std::env::var_os("VIALBELL_PAPERS")
        .map_or_else(|| env!("CARGO_TARGET_TMPDIR").into(), PathBuf::from)
}

/// A page in grey, as a plain office printer has it: width, height, pixels.
fn printed(pdf: &Path) -> (usize, usize, Vec<u8>) {
    let output = Command::new("pdftoppm")
        .args(["-r", "72", "-gray"])
        .arg(pdf)
        .output()
        .expect("pdftoppm");
    assert!(output.status.success());
    let page = output.stdout;
    // Netpbm's binary grey map: P5, width, height, 255, each in its line.
    let mut at = 0;
    let mut header = Vec::new();
    while header.len() < 4 {
        let end = at
            + page[at..]
                .iter()
                .position(|b| b.is_ascii_whitespace())
                .unwrap();
        header.push(String::from_utf8(page[at..end].to_vec()).unwrap());
        at = end + 1;
    }
    assert_eq!((header[0].as_str(), header[3].as_str()), ("P5", "255"));
    let (width, height) = (header[1].parse().unwrap(), header[2].parse().unwrap());
    let pixels = page[at..].to_vec();
    assert_eq!(pixels.len(), width * height, "one page");
    (width, height, pixels)
}

/// Printers leave some 6 mm white (common practice, no source): nothing stands
/// there, so nothing has run out of the layout.
fn check_margins(name: &str, home: &Home) {
    let file = folder().join(format!("{name}.pdf"));
    std::fs::write(&file, sheet(&home.sheet_input()).unwrap()).unwrap();
    let (width, height, pixels) = printed(&file);
    let is_margin = |x: usize, y: usize| x < 20 || y < 20 || x + 20 >= width || y + 20 >= height;
    let mut dark = 0;
    for (n, pixel) in pixels.iter().enumerate() {
        let (x, y) = (n % width, n / width);
        assert!(
            !is_margin(x, y) || *pixel > 250,
            "{name}: something at {x}, {y}"
        );
        dark += usize::from(*pixel < 100);
    }
    // Neither an empty page nor a black one.
    assert!((5_000..150_000).contains(&dark), "{name}: {dark} dark");
}

#[test]
#[ignore = "needs pdftoppm (apt install poppler-utils)"]
fn every_sheet_keeps_its_margins_and_can_be_looked_at() {
    let one_dose = Setting {
        days: 5,
        dose: "0.36 mL",
        ..Setting::default()
    };
    let long = Setting {
        days: 200,
        dose: "4.4 mL",
        ..Setting::default()
    };
    for (name, setting) in [
        ("english", Setting::default()),
        ("spanish-60-days", Setting::spanish()),
        ("short-small-dose", one_dose),
        ("200-days", long),
    ] {
        let mut home = Home::new(&setting);
        check_margins(name, &home);
        let later = home.now + TimeDelta::days(i64::from(setting.days) / 2);
        home.live_until(later, &[5, 16], &[9, 22, 23]);
        let (policy, wording) = (&home.policy, &home.wording);
        let picture = picture(&home.household, home.course(), policy, wording, home.now);
        std::fs::write(folder().join(format!("{name}.png")), picture.unwrap()).unwrap();
    }
    for (n, name) in ODD_NAMES.iter().enumerate() {
        let mut home = Home::new(&Setting {
            patient: name,
            owner: name,
            ..Setting::default()
        });
        home.policy.clinic.name = (*name).into();
        home.policy.clinic.phone = (*name).into();
        check_margins(&format!("odd-{n}"), &home);
    }
}
