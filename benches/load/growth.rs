//! How cost grows from a thousand households to a million, as a picture.

use super::clinic::Filled;
use super::rows::{each_second, first_reminder, quiet_minute, remind};
use super::stub::Stub;
use std::fmt::Write;

/// Doses that are due in the minute, however many households there are.
const DUE: i64 = 1_000;
const SIZES: [i64; 4] = [1_000, 10_000, 100_000, 1_000_000];

struct Cost {
    homes: i64,
    reminders_per_second: i64,
    memory_mib: i64,
    start_ms: i64,
    quiet_us: i64,
}

/// Measures each size, prints a table and writes the picture where one is wanted.
pub async fn measure(stub: &Stub) {
    let mut costs = Vec::new();
    for homes in SIZES {
        let mut filled = Filled::new(&stub.url, homes, DUE).await;
        let start = filled.copy();
        // Once to read the file, once to be measured.
        first_reminder(stub, &start.url()).await;
        let first = first_reminder(stub, &start.url()).await;
        let copy = filled.copy();
        let (took, peak) = remind(stub, &copy.url(), DUE).await;
        let quiet = filled.copy();
        costs.push(Cost {
            homes,
            reminders_per_second: each_second(DUE, took),
            memory_mib: i64::try_from(peak / 1024).unwrap(),
            start_ms: i64::try_from(first.as_millis()).unwrap(),
            quiet_us: i64::try_from(quiet_minute(stub, &quiet.url()).await).unwrap(),
        });
    }
    println!(
        "\n| households | 1,000 due: reminders/s | most memory | start to first reminder | a quiet minute |\n|---|---|---|---|---|"
    );
    for cost in &costs {
        println!(
            "| {} | {} | {} MiB | {} ms | {}.{} ms |",
            cost.homes,
            cost.reminders_per_second,
            cost.memory_mib,
            cost.start_ms,
            cost.quiet_us / 1_000,
            cost.quiet_us % 1_000 / 100
        );
    }
    if let Ok(file) = std::env::var("VIALBELL_PICTURE") {
        std::fs::write(file, picture(&costs)).unwrap();
    }
}

/// Four small charts beside each other, one bar for each size.
fn picture(costs: &[Cost]) -> String {
    type Panel = (&'static str, fn(&Cost) -> i64);
    let panels: [Panel; 4] = [
        ("reminders a second", |cost| cost.reminders_per_second),
        ("most memory, MiB", |cost| cost.memory_mib),
        ("start to first reminder, ms", |cost| cost.start_ms),
        ("a quiet minute, µs of processor", |cost| cost.quiet_us),
    ];
    let (width, height) = (190, 150);
    let mut svg = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {} {}\" font-family=\"sans-serif\" font-size=\"10\" fill=\"#1f2933\">\n\
         <rect width=\"100%\" height=\"100%\" fill=\"#ffffff\"/>\n",
        width * 4 + 20,
        height + 60
    );
    for (place, (title, of)) in (0..).zip(panels) {
        let left = 15 + place * width;
        let most = costs.iter().map(of).max().unwrap_or(1).max(1);
        writeln!(
            svg,
            "<text x=\"{left}\" y=\"20\" font-weight=\"bold\">{title}</text>"
        )
        .unwrap();
        for (bar, cost) in (0..).zip(costs) {
            let value = of(cost);
            let tall = (value * i64::from(height - 50) / most).max(1);
            let (x, bottom) = (left + bar * 42, i64::from(height + 20));
            let label = match cost.homes {
                n if n >= 1_000_000 => format!("{}M", n / 1_000_000),
                n => format!("{}k", n / 1_000),
            };
            writeln!(
                svg,
                "<rect x=\"{x}\" y=\"{}\" width=\"30\" height=\"{tall}\" fill=\"#2f6f8f\"/>\
                 <text x=\"{}\" y=\"{}\" text-anchor=\"middle\">{value}</text>\
                 <text x=\"{}\" y=\"{}\" text-anchor=\"middle\" fill=\"#52606d\">{label}</text>",
                bottom - tall,
                x + 15,
                bottom - tall - 4,
                x + 15,
                bottom + 14
            )
            .unwrap();
        }
    }
    writeln!(svg, "<text x=\"15\" y=\"{}\" fill=\"#52606d\">households on disk, 1,000 of them with a dose due</text>\n</svg>", height + 52).unwrap();
    svg
}
