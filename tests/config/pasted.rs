//! A prescription that went through a chat program before it came to us.

use crate::{example_prescription, read};

#[test]
fn a_prettified_order_reads_like_the_plain_one() {
    let plain = example_prescription();
    let mut opening = true;
    let quoted: String = plain
        .chars()
        .map(|c| match c {
            '"' => {
                opening = !opening;
                if opening { '”' } else { '“' }
            }
            ' ' => '\u{A0}',
            c => c,
        })
        .collect();
    assert!(quoted.contains("name\u{A0}=\u{A0}“Juniper”"));
    let pasted = format!(
        "\u{FEFF}```toml\r\n{}\r\n```\r\n",
        quoted.replace('\n', "\r\n")
    );
    assert_eq!(read(&pasted), read(&plain));
    assert!(read(&plain).is_ok());
}

#[test]
fn the_apostrophe_of_a_name_is_kept() {
    let text = example_prescription().replace("\"Maren Oakhollow\"", "“Maren O’Hollow”");
    assert_eq!(read(&text).expect("an order").owner, "Maren O’Hollow");
}

#[test]
fn a_mistake_in_a_pasted_order_has_the_line_that_its_writer_sees() {
    let text = "```\n[patient]\nname = “Juniper”\nage = 3\n```";
    let wrong = read(text).expect_err("most is missing");
    assert!(
        wrong.contains("prescription:4: patient.age: is no key known here"),
        "{wrong}"
    );
}
