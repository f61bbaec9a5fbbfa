use super::*;

fn wording() -> Wording {
    Wording::load().unwrap_or_else(|error| panic!("{error}"))
}

#[test]
fn prints_the_gallery() {
    println!("{}", gallery(&wording()));
}
