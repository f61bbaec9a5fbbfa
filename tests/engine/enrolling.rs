//! A prescription in the clinic's chat: pasted, or answered question by question.

use super::fake::{CLINIC, Clinic};
use super::home::at;
use resvg::tiny_skia::Pixmap;
use vialbell::channel::Outgoing;
use vialbell::domain::Instant;
use vialbell::domain::arrival::Body;

const START: &str = "2026-03-04T18:00:00Z";
const TEXT: &str = include_str!("../../config/prescription.example.toml");

fn start() -> Instant {
    at(START)
}

async fn begun() -> Clinic {
    let clinic = Clinic::open(start()).await;
    clinic.engine.set_bot_name("brindlewick_bot");
    clinic
}

/// What the clinic's chat gets for a text.
async fn told(clinic: &mut Clinic, text: &str) -> Vec<Outgoing> {
    clinic.says(CLINIC, text).await;
    clinic.step(start()).await;
    clinic.platform.taken(CLINIC)
}

/// What the chat gets for a tap on a button of its newest message.
async fn tapped(clinic: &mut Clinic, shown: &[Outgoing], label: &str) -> Vec<Outgoing> {
    let buttons = shown.iter().flat_map(|outgoing| &outgoing.buttons);
    let button = buttons.into_iter().find(|button| button.label == label);
    let data = button.unwrap_or_else(|| panic!("no button {label}: {shown:?}"));
    let data = data.data.clone();
    clinic.arrive(CLINIC, Body::Tap(data)).await;
    clinic.step(start()).await;
    clinic.platform.taken(CLINIC)
}

async fn households(clinic: &Clinic) -> usize {
    let key = clinic.engine.policy().clinic.key.clone();
    let mut work = clinic.engine.store().begin().await.unwrap();
    let found = work.households(&key).await.unwrap().len();
    work.commit().await.unwrap();
    found
}

#[tokio::test]
async fn a_pasted_text_with_a_missing_line_is_answered_and_nothing_is_changed() {
    let mut clinic = begun().await;
    let missing: Vec<&str> = TEXT
        .lines()
        .filter(|line| !line.starts_with("dose") && !line.starts_with("species"))
        .collect();
    let told = told(&mut clinic, &missing.join("\n")).await;
    assert_eq!(told.len(), 1);
    let text = &told[0].text;
    assert!(
        text.starts_with("Not enrolled, nothing was changed"),
        "{text}"
    );
    assert!(text.contains("patient.species: is missing"), "{text}");
    assert!(text.contains("prescription.dose: is missing"), "{text}");
    assert_eq!(households(&clinic).await, 0);
}

#[tokio::test]
async fn a_pasted_text_with_typographic_quotes_and_tabs_is_read() {
    let mut clinic = begun().await;
    let pretty: String = TEXT
        .replace(" = ", "\t=\t")
        .lines()
        .map(|line| match line.split_once('#') {
            Some((before, _)) => before.to_owned(),
            None => line.to_owned(),
        })
        .map(|line| {
            let mut open = false;
            let turned = line.chars().map(|c| match c {
                '"' => {
                    open = !open;
                    if open { '“' } else { '”' }
                }
                c => c,
            });
            turned.collect::<String>() + "\r\n"
        })
        .collect();
    assert!(pretty.contains("“Juniper”") && pretty.contains('\t'));
    let told = told(&mut clinic, &pretty).await;
    assert!(
        told.iter().any(|o| o.text.starts_with("Enrolled: Juniper")),
        "{told:?}"
    );
    assert_eq!(households(&clinic).await, 1);
}

#[tokio::test]
async fn each_invitation_comes_with_a_picture_that_a_phone_reads() {
    let mut clinic = begun().await;
    let told = told(&mut clinic, TEXT).await;
    let invitations: Vec<&Outgoing> = told
        .iter()
        .filter(|outgoing| outgoing.text.starts_with("Invitation for"))
        .collect();
    assert_eq!(invitations.len(), 2, "one for each carer: {told:?}");
    for outgoing in invitations {
        let picture = outgoing.attachment.as_ref().unwrap();
        assert!(picture.picture, "{}", picture.name);
        let pixels = Pixmap::decode_png(&picture.bytes).unwrap();
        let (width, height) = (pixels.width() as usize, pixels.height() as usize);
        let mut image = rqrr::PreparedImage::prepare_from_greyscale(width, height, |x, y| {
            pixels.data()[(y * width + x) * 4]
        });
        let grids = image.detect_grids();
        assert_eq!(grids.len(), 1);
        let (_, link) = grids[0].decode().unwrap();
        assert!(
            link.starts_with("https://t.me/brindlewick_bot?start="),
            "{link}"
        );
        assert!(outgoing.text.contains(&link), "{}", outgoing.text);
    }
}

#[tokio::test]
async fn an_enrolment_lasts_over_a_restart_and_ends_like_a_pasted_one() {
    let mut clinic = begun().await;
    told(&mut clinic, "enrol").await;
    told(&mut clinic, "Juniper").await;
    let shown = told(&mut clinic, "dog").await;
    assert!(
        shown[0].text.contains("What does it weigh?"),
        "{}",
        shown[0].text
    );
    let mut clinic = clinic.crash(start()).await;
    let shown = told(&mut clinic, "66 lb").await;
    let shown = tapped(&mut clinic, &shown, "Tarnmoss 1000 mg (invented)").await;
    assert!(
        shown[0].text.contains("How much is one dose?"),
        "{}",
        shown[0].text
    );
    let shown = told(&mut clinic, "14 mg/kg").await;
    let old = shown.clone();
    let shown = tapped(&mut clinic, &shown, "08:00 20:00").await;
    // A second tap on the question before changes nothing and asks the open one again.
    let again = tapped(&mut clinic, &old, "07:00 19:00").await;
    assert_eq!(again[0].text, shown[0].text);
    told(&mut clinic, "2026-03-05 20:00").await;
    told(&mut clinic, "28 days").await;
    let shown = told(&mut clinic, "Maren Oakhollow").await;
    let shown = tapped(&mut clinic, &shown, "English").await;
    let shown = tapped(&mut clinic, &shown, "America/Denver").await;
    assert!(shown[0].text.contains("Who else"), "{}", shown[0].text);
    let shown = told(&mut clinic, "Teo Oakhollow, Sam Reyes").await;
    let shown = tapped(&mut clinic, &shown, "What the course needs").await;
    assert!(shown[0].text.contains("veterinarian"), "{}", shown[0].text);
    assert_eq!(
        households(&clinic).await,
        0,
        "nothing before the last answer"
    );
    let told = told(&mut clinic, "Dr. Idris Fennimore").await;
    assert!(
        told[0].text.starts_with("Check this order: Juniper"),
        "{told:?}"
    );
    assert!(
        told[0].text.contains("66 lb x 0.45359237"),
        "{}",
        told[0].text
    );
    assert_eq!(households(&clinic).await, 1);
    let household = clinic.household(1).await;
    let course = &household.courses[&1];
    assert_eq!((course.doses, course.confirmed.is_some()), (56, false));
    assert_eq!(household.carers.len(), 3);
    let closed = tapped(&mut clinic, &shown, "Cancel").await;
    assert!(
        closed[0].text.contains("no enrolment of yours is open"),
        "{}",
        closed[0].text
    );
}

#[tokio::test]
async fn an_answer_that_was_right_and_is_no_more_is_asked_again() {
    let mut clinic = begun().await;
    let mut shown = Vec::new();
    for answer in [
        "enrol",
        "Juniper",
        "dog",
        "30 kg",
        "tarnmoss",
        "1.5 mL",
        "08:00 20:00",
        // On the clinic's clock still to come, on the owner's long past.
        "2026-03-04 20:00",
        "28 days",
        "Maren Oakhollow",
        "en",
        "Pacific/Kiritimati",
        "none",
        "none",
        "Dr. Idris Fennimore",
    ] {
        shown = told(&mut clinic, answer).await;
    }
    let text = &shown[0].text;
    assert!(
        text.contains("is in the past") && text.contains("When is the first dose?"),
        "{text}"
    );
    assert_eq!(households(&clinic).await, 0);
    let told = told(&mut clinic, "2026-03-05 20:00").await;
    assert!(
        told.iter().any(|o| o.text.starts_with("Enrolled: Juniper")),
        "{told:?}"
    );
}
