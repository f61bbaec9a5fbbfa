//! What the program computes and says, against printed figures. The rows are
//! in the `.toml` files here, each with its source; every one passes, or says
//! why the program and the print differ, or why the program does no such
//! thing. Rows from memory are shown and never block.

mod doses;
mod facts;
#[path = "../support/home.rs"]
mod home;
mod orders;
mod practice;
mod reconstitution;
mod wording;

/// How many rows there are and what became of them: a row that vanishes, or
/// comes to something else than before, is seen here.
#[test]
fn the_table_of_all_rows() {
    let all = [
        reconstitution::rows(),
        reconstitution::stability(),
        doses::examples(),
        doses::rounding_rules(),
        doses::conversions(),
        wording::abbreviations(),
        practice::syringes(),
        practice::choices(),
        practice::sharps(),
        practice::asepsis(),
    ];
    println!(
        "{:<34}{:>6}{:>8}{:>10}{:>14}{:>13}",
        "file and table", "rows", "passed", "recorded", "out of scope", "from memory"
    );
    for held in &all {
        print!("{held}");
    }
    let counts = all.each_ref().map(|held| {
        let count = held.count();
        [
            count.rows,
            count.passed,
            count.recorded,
            count.out_of_scope,
            count.from_memory,
        ]
    });
    assert_eq!(
        counts,
        [
            [90, 71, 2, 8, 9],
            [21, 20, 0, 1, 0],
            [33, 24, 2, 7, 0],
            [11, 9, 1, 1, 0],
            [7, 0, 3, 2, 2],
            [26, 22, 3, 1, 0],
            [12, 9, 2, 1, 0],
            [5, 5, 0, 0, 0],
            [7, 7, 0, 0, 0],
            [8, 2, 0, 0, 6],
        ]
    );
}
