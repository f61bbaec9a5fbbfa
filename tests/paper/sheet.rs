//! The take-home sheet, read back as a PDF.

use crate::home::{Home, LINK, ODD_NAMES, Setting};
use chrono::TimeDelta;
use std::path::PathBuf;
use std::process::Command;
use vialbell::domain::quantity::Volume;
use vialbell::paper::{sheet, square};

fn pdf(home: &Home) -> Vec<u8> {
    sheet(&home.sheet_input()).unwrap()
}

/// What stands in the file outside of compressed streams.
fn plain(pdf: &[u8]) -> String {
    String::from_utf8_lossy(pdf).into_owned()
}

fn count(text: &str, part: &str) -> usize {
    text.matches(part).count()
}

/// ISO 32000-1: 7.7.3 page tree, 9.8 font descriptors, 9.10.3 ToUnicode.
fn check_structure(pdf: &[u8]) {
    let plain = plain(pdf);
    assert!(plain.starts_with("%PDF-") && plain.trim_end().ends_with("%%EOF"));
    assert!(plain.contains("/Count 1"), "one page");
    assert_eq!(count(&plain, "/Type/Page/"), 1, "one page");
    assert!(plain.contains("/MediaBox[0 0 595.3 792]"));
    let fonts = count(&plain, "/Subtype/Type0");
    assert!(fonts >= 2, "{fonts} fonts");
    assert_eq!(count(&plain, "/FontFile"), fonts, "every font is embedded");
    assert_eq!(count(&plain, "/ToUnicode"), fonts, "text can be selected");
    for base in plain.split("/BaseFont/").skip(1) {
        assert_eq!(base.find('+'), Some(6), "a subset: {}", &base[..20]);
    }
}

#[test]
fn it_is_one_page_with_its_fonts_embedded() {
    for setting in [Setting::default(), Setting::spanish()] {
        let pdf = pdf(&Home::new(&setting));
        check_structure(&pdf);
        assert!(plain(&pdf).contains(&format!("/Lang({})", setting.language)));
        assert!(pdf.len() < 100_000, "{} bytes", pdf.len());
    }
}

#[test]
fn the_same_home_gives_the_same_bytes() {
    let home = Home::new(&Setting::default());
    assert_eq!(pdf(&home), pdf(&home));
}

#[test]
fn nothing_that_a_clinic_or_an_owner_writes_breaks_it() {
    for name in ODD_NAMES {
        let mut home = Home::new(&Setting {
            patient: name,
            owner: name,
            days: 3,
            ..Setting::default()
        });
        home.policy.clinic.name = (*name).into();
        home.policy.clinic.phone = (*name).into();
        home.policy.clinic.emergency_phone = Some((*name).into());
        for protocol in &mut home.policy.protocol {
            protocol.steps = vec![(*name).into(); 3];
        }
        check_structure(&pdf(&home));
    }
}

#[test]
fn it_is_still_one_page_without_a_protocol_and_with_one_that_is_too_long() {
    let mut home = Home::new(&Setting::default());
    home.policy.protocol.clear();
    home.policy.clinic.emergency_phone = None;
    home.policy.syringes.clear();
    check_structure(&pdf(&home));
    let mut home = Home::new(&Setting::default());
    for protocol in &mut home.policy.protocol {
        protocol.steps = vec!["Do as we showed you. ".repeat(40); 30];
    }
    check_structure(&pdf(&home));
    let times =
        "\"00:00\", \"03:00\", \"06:00\", \"09:00\", \"12:00\", \"15:00\", \"18:00\", \"21:00\"";
    let home = Home::new(&Setting {
        times,
        first: "2026-03-05T15:00",
        days: 200,
        ..Setting::default()
    });
    check_structure(&pdf(&home));
}

#[test]
fn the_code_reads_as_the_link() {
    let code = square(LINK).unwrap();
    let scale = 3;
    let side = code.side() * scale;
    let mut image = rqrr::PreparedImage::prepare_from_greyscale(side, side, |x, y| {
        if code.is_dark(x / scale, y / scale) {
            0
        } else {
            255
        }
    });
    let grids = image.detect_grids();
    assert_eq!(grids.len(), 1);
    assert_eq!(grids[0].decode().unwrap().1, LINK);
}

#[test]
fn a_link_that_is_too_long_for_a_code_leaves_the_code_out() {
    assert!(square(&"x".repeat(3000)).is_none());
    let home = Home::new(&Setting::default());
    let link = "x".repeat(3000);
    let mut input = home.sheet_input();
    input.invitation = input
        .invitation
        .map(|invitation| vialbell::paper::Invitation {
            link: &link,
            ..invitation
        });
    check_structure(&sheet(&input).unwrap());
}

fn run(program: &str, arguments: &[&str]) -> String {
    let output = Command::new(program)
        .args(arguments)
        .output()
        .unwrap_or_else(|error| panic!("{program}: {error}"));
    let errors = String::from_utf8_lossy(&output.stderr).into_owned();
    assert!(output.status.success(), "{program}: {errors}");
    String::from_utf8(output.stdout).unwrap()
}

fn written(name: &str, home: &Home) -> PathBuf {
    let folder = PathBuf::from(env!("CARGO_TARGET_TMPDIR"));
    let file = folder.join(format!("sheet-{name}.pdf"));
    std::fs::write(&file, pdf(home)).unwrap();
    file
}

#[test]
#[ignore = "needs pdftotext (apt install poppler-utils)"]
fn its_text_says_all_that_an_owner_needs() {
    for (name, setting, needed) in [
        (
            "english",
            Setting::default(),
            [
                "Juniper",
                "Brindlewick Animal Clinic",
                "+1 555 0142",
                "+1 555 0177",
                "1.5 mL",
                "Syringe of 3 mL: fill to 1.5 mL",
                "every day at 7:30 am and 7:30 pm",
                "Add 3 mL of sterile water for injection.",
                "Discard it 168 hours (7 days) after mixing",
                "Wash your hands",
                "Draw up 3 mL of the diluent",
                "56 doses: the first Thu 5 Mar, 7:30 pm, the last Thu 2 Apr, 7:30 am.",
                "away from children and animals",
                "Local rules",
                "It does not give advice.",
                "Dr. Idris Fennimore",
            ],
        ),
        (
            "spanish",
            Setting::spanish(),
            [
                "Ñandú",
                "Brindlewick Animal Clinic",
                "+1 555 0142",
                "+1 555 0177",
                "1,5 mL",
                "Jeringa de 3 mL: llena hasta 1,5 mL",
                "cada día a las 7:30 y 19:30",
                "Añade 3 mL de diluyente (sterile water for injection).",
                "Deséchalo 168 horas (7 días) después de mezclarlo",
                "Lávese las manos",
                "Cargue 3 mL del diluyente",
                "120 dosis: la primera jue 5 mar, 19:30, la última lun 4 may, 7:30.",
                "lejos de niños y animales",
                "Las reglas locales",
                "No da consejos.",
                "Dr. Idris Fennimore",
            ],
        ),
    ] {
        let file = written(name, &Home::new(&setting));
        let text = run("pdftotext", &[file.to_str().unwrap(), "-"]);
        let text = text.split_whitespace().collect::<Vec<_>>().join(" ");
        for part in needed {
            assert!(text.contains(part), "{name}: no {part:?} in {text}");
        }
        assert!(!text.contains('?') || setting.language == "en" || text.contains('¿'));
        let fonts = run("pdffonts", &[file.to_str().unwrap()]);
        for font in fonts.lines().skip(2) {
            let columns: Vec<&str> = font.split_whitespace().collect();
            let flags = &columns[columns.len() - 5..columns.len() - 2];
            assert_eq!(
                flags,
                ["yes", "yes", "yes"],
                "embedded, subset, unicode: {font}"
            );
        }
    }
}

#[test]
#[ignore = "needs pdftotext (apt install poppler-utils)"]
fn after_a_changed_order_it_holds_for_the_doses_of_the_new_one() {
    let mut home = Home::new(&Setting::default());
    let course = home.household.course_mut(1).unwrap();
    let mut plan = course.plans[0].clone();
    plan.from = 21;
    plan.first = course.plans[0].planned(21);
    plan.volume = Volume::parse("1.2").unwrap();
    course.plans.push(plan);
    let text = |name: &str, home: &Home| {
        let file = written(name, home);
        run("pdftotext", &[file.to_str().unwrap(), "-"])
    };
    let before = text("before", &home);
    assert!(before.contains("1.5 mL") && !before.contains("1.2 mL"));
    assert!(
        before.contains("20 doses: the first Thu 5 Mar, 7:30 pm, the last Sun 15 Mar, 7:30 am")
    );
    home.now = home.course().planned(20, home.household.zone).at + TimeDelta::minutes(1);
    let after = text("after", &home);
    assert!(after.contains("1.2 mL") && !after.contains("1.5 mL"));
    assert!(after.contains("36 doses: the first Sun 15 Mar, 7:30 pm, the last Thu 2 Apr, 7:30 am"));
}

#[test]
#[ignore = "needs pdftoppm and zbarimg (apt install poppler-utils zbar-tools)"]
fn the_code_on_the_printed_page_reads_as_the_link() {
    let file = written("code", &Home::new(&Setting::default()));
    let picture = file.with_extension("");
    let picture = picture.to_str().unwrap();
    let file = file.to_str().unwrap();
    // A plain office printer, black and white.
    run(
        "pdftoppm",
        &["-r", "300", "-gray", "-png", "-singlefile", file, picture],
    );
    let read = run("zbarimg", &["--quiet", "--raw", &format!("{picture}.png")]);
    assert_eq!(read.trim(), LINK);
}
