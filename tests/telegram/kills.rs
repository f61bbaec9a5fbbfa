//! `kill -9`, again and again, at any moment, while owners go on writing.

use crate::load::{Books, Dice, Load, in_flight};
use crate::postgres::{Server, fresh_on};
use crate::program::{Folder, Serving};
use crate::stub::Stub;
use std::collections::BTreeSet;
use std::time::Duration;

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
    let mut in_doubt = BTreeSet::new();
    for kill in 0..kills {
        let serving = serve(&folder, &format!("run{kill}"));
        let life = dice.millis(100, 3_000);
        load.talk(&stub, dice, life).await;
        serving.kill();
        in_doubt.extend(in_flight(&folder.url()).await);
    }
    let mut last = serve(&folder, "last");
    load.settle(&stub, &folder.url()).await;
    assert!(last.is_at_work());
    assert!(last.terminate().await.success());
    let books = load.check(&stub, &folder.url()).await;
    println!(
        "{kills} kills, {} messages in flight at one: {books:?}",
        in_doubt.len()
    );
    assert!(books.repeats <= in_doubt.len(), "{books:?}");
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

/// Three workers on one PostgreSQL under load, and what is killed of it all.
struct Workers {
    server: Server,
    stub: Stub,
    folder: Folder,
    load: Load,
    url: String,
    workers: Vec<Serving>,
    started: u32,
    /// Messages that were in flight at a kill and stayed so, with their lease.
    in_doubt: BTreeSet<(i64, i64)>,
}

impl Workers {
    async fn begin(homes: usize, minutes: usize) -> Self {
        let server = Server::start().expect("PostgreSQL is not installed");
        let stub = Stub::start().await;
        let folder = Folder::new(&stub);
        let url = fresh_on(&server.url("postgres")).await;
        folder.keep_records_at(&url);
        let load = Load::begin(&stub, &folder, homes, minutes).await;
        let mut workers = Self {
            server,
            stub,
            folder,
            load,
            url,
            workers: Vec::new(),
            started: 0,
            in_doubt: BTreeSet::new(),
        };
        for _ in 0..3 {
            workers.start();
        }
        workers
    }

    fn start(&mut self) {
        self.started += 1;
        let run = format!("worker{}", self.started);
        self.workers.push(serve(&self.folder, &run));
    }

    async fn talk(&mut self, dice: &mut Dice) {
        let span = dice.millis(500, 4_000);
        self.load.talk(&self.stub, dice, span).await;
    }

    async fn settled(mut self) -> Books {
        self.load.settle(&self.stub, &self.url).await;
        for mut worker in self.workers {
            assert!(worker.is_at_work(), "it goes on by itself");
            assert!(worker.terminate().await.success());
        }
        let books = self.load.check(&self.stub, &self.url).await;
        println!(
            "{} messages in flight at a kill: {books:?}",
            self.in_doubt.len()
        );
        assert!(books.repeats <= self.in_doubt.len(), "{books:?}");
        drop(self.server);
        books
    }
}

#[tokio::test(flavor = "multi_thread", worker_threads = 1)]
#[ignore = "needs PostgreSQL, takes minutes"]
async fn of_three_workers_any_is_killed_many_times_and_nothing_is_lost() {
    let mut dice = Dice::thrown(4);
    let mut clinic = Workers::begin(60, 2).await;
    let kills = kills(40);
    for _ in 0..kills {
        clinic.talk(&mut dice).await;
        let at = usize::try_from(dice.below(3)).unwrap();
        clinic.workers.remove(at).kill();
        let held = in_flight(&clinic.url).await;
        clinic.start();
        // What the living have in hand is done by then.
        let pause = Duration::from_secs(1);
        clinic.load.talk(&clinic.stub, &mut dice, pause).await;
        let still: BTreeSet<_> = in_flight(&clinic.url).await.into_iter().collect();
        clinic
            .in_doubt
            .extend(held.into_iter().filter(|held| still.contains(held)));
    }
    println!("{kills} kills of one of three workers");
    clinic.settled().await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 1)]
#[ignore = "needs PostgreSQL, takes minutes"]
async fn postgresql_itself_is_killed_under_three_workers_and_nothing_is_lost() {
    let mut dice = Dice::thrown(5);
    let mut clinic = Workers::begin(60, 2).await;
    let kills = kills(12);
    for _ in 0..kills {
        clinic.talk(&mut dice).await;
        clinic.server.kill();
        let away = dice.millis(0, 3_000);
        clinic.load.talk(&clinic.stub, &mut dice, away).await;
        clinic.server.launch();
        let held = in_flight(&clinic.url).await;
        clinic.in_doubt.extend(held);
    }
    println!("{kills} kills of PostgreSQL");
    clinic.settled().await;
}
