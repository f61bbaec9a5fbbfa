//! Writes every paper to a folder, for a person to look at.

use crate::home::{Home, Setting};
use chrono::TimeDelta;
use vialbell::paper::{calendar, picture, sheet};

#[test]
#[ignore = "writes files to look at: set VIALBELL_PAPERS to a folder"]
fn papers_to_look_at() {
    let folder = std::path::PathBuf::from(std::env::var("VIALBELL_PAPERS").unwrap());
    for (name, setting) in [
        ("english", Setting::default()),
        ("spanish-60-days", Setting::spanish()),
        (
            "short-small-dose",
            Setting {
                days: 5,
                dose: "0.36 mL",
                ..Setting::default()
            },
        ),
        (
            "200-days",
            Setting {
                days: 200,
                dose: "4.4 mL",
                ..Setting::default()
            },
        ),
    ] {
        let mut home = Home::new(&setting);
        let file = |end: &str| folder.join(format!("{name}.{end}"));
        std::fs::write(file("pdf"), sheet(&home.sheet_input()).unwrap()).unwrap();
        let calendar = calendar(
            &home.household,
            home.course(),
            &home.policy,
            &home.wording,
            home.now,
        );
        std::fs::write(file("ics"), calendar).unwrap();
        let later = home.now + TimeDelta::days(i64::from(setting.days) / 2);
        home.live_until(later, &[5, 16], &[9, 22, 23]);
        let picture = picture(
            &home.household,
            home.course(),
            &home.policy,
            &home.wording,
            home.now,
        );
        std::fs::write(file("png"), picture.unwrap()).unwrap();
    }
}
