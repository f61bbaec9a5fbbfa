//! `kill -9`, again and again, at any moment, while owners go on writing.

use crate::load::{Dice, Load, in_flight};
use crate::program::{Folder, Serving};
use crate::stub::Stub;

/// So many kills, unless `VIALBELL_KILLS` says otherwise.
fn kills(usual: u32) -> u32 {
    std::env::var("VIALBELL_KILLS").map_or(usual, |n| n.parse().expect("VIALBELL_KILLS"))
}

fn serve(folder: &Folder, run: &str) -> Serving {
    let mut command = folder.command(&["serve"]);
    command.env("VIALBELL_LOG", "warn,vialbell=info");
    folder.spawn(command, run)
}

/// One program on a file, killed while it starts, asks, decides or sends.
async fn killed_on_a_file(kills: u32, homes: usize, minutes: usize, dice: &mut Dice) {
    let stub = Stub::start().await;
    let folder = Folder::new(&stub);
    let mut load = Load::begin(&stub, &folder, homes, minutes).await;
    let mut in_doubt = 0;
    for kill in 0..kills {
        let serving = serve(&folder, &format!("run{kill}"));
        let life = dice.millis(100, 3_000);
        load.talk(&stub, dice, life).await;
        serving.kill();
        in_doubt += in_flight(&folder.url()).await.len();
    }
    let mut last = serve(&folder, "last");
    load.settle(&stub, &folder.url()).await;
    assert!(last.is_at_work());
    assert!(last.terminate().await.success());
    let books = load.check(&stub, &folder.url()).await;
    println!("{kills} kills, {in_doubt} messages in flight at one: {books:?}");
    assert!(books.repeats <= in_doubt, "{books:?}");
}

#[tokio::test(flavor = "multi_thread", worker_threads = 1)]
async fn a_program_that_is_killed_at_any_moment_loses_nothing_and_records_nothing_twice() {
    killed_on_a_file(kills(6), 24, 1, &mut Dice::thrown(1)).await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 1)]
#[ignore = "takes minutes"]
async fn a_program_that_is_killed_many_times_loses_nothing_and_records_nothing_twice() {
    killed_on_a_file(kills(60), 60, 2, &mut Dice::thrown(2)).await;
}
