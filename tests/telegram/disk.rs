//! The real program on a disk that is full, and on one that it may not write to.

use crate::program::{Folder, asks, nothing_waits};
use crate::stub::{Stub, until};
use sqlx::{AnyConnection, Connection};
use std::path::{Path, PathBuf};
use std::process::Command;

/// A small disk of its own; only root may have one.
struct SmallDisk(PathBuf);

impl SmallDisk {
    fn of(size: &str) -> Option<Self> {
        let place = std::env::temp_dir().join(format!("vialbell-disk-{}", std::process::id()));
        std::fs::create_dir(&place).unwrap();
        let mut mount = Command::new("mount");
        mount.args(["-t", "tmpfs", "-o", &format!("size={size}"), "none"]);
        let mounted = mount.arg(&place).output();
        if mounted.is_ok_and(|output| output.status.success()) {
            return Some(Self(place));
        }
        std::fs::remove_dir(&place).unwrap();
        None
    }

    /// Leaves not a byte.
    fn fill(&self) {
        use std::io::Write;
        let mut filler = std::fs::File::create(self.0.join("filler")).unwrap();
        while filler.write_all(&[0; 4096]).is_ok() {}
    }

    fn make_room(&self) {
        std::fs::remove_file(self.0.join("filler")).unwrap();
    }
}

impl Drop for SmallDisk {
    fn drop(&mut self) {
        let _ = Command::new("umount").arg("-l").arg(&self.0).status();
        let _ = std::fs::remove_dir(&self.0);
    }
}

async fn is_sound(url: &str) -> bool {
    let mut db = AnyConnection::connect(url).await.unwrap();
    let sound: String = sqlx::query_scalar("pragma integrity_check")
        .fetch_one(&mut db)
        .await
        .unwrap();
    db.close().await.unwrap();
    sound == "ok"
}

#[tokio::test(flavor = "multi_thread", worker_threads = 1)]
async fn a_full_disk_is_named_in_the_log_and_what_came_meanwhile_is_answered_when_there_is_room() {
    let Some(disk) = SmallDisk::of("3m") else {
        println!("skipped: no small disk can be mounted here");
        return;
    };
    let stub = Stub::start().await;
    let folder = Folder::new(&stub);
    folder.keep_records_at(&format!("sqlite:{}", disk.0.join("vialbell.db").display()));
    let url = folder.url();
    let enrolled = folder.run(&["enrol", "juniper.toml"]);
    assert!(enrolled.status.success(), "{enrolled:?}");
    let mut command = folder.command(&["serve"]);
    command.env("VIALBELL_LOG", "warn,vialbell=info");
    let mut serving = folder.spawn(command, "full");
    asks(&stub, 7, "hello", "+1 555 0142").await;
    nothing_waits(&url).await;

    disk.fill();
    // The log file has room that it was given before, so it is filled by many.
    let full = || folder.logs().contains("disk is full");
    let mut strangers = 100;
    until("the log says so", || {
        strangers += 1;
        stub.push_text(strangers, "hello");
        full()
    })
    .await;
    assert!(
        stub.unconfirmed() > 0,
        "what cannot be kept stays the platform's"
    );
    assert!(serving.is_at_work());
    let backup = folder.run(&["backup", "--to", disk.0.join("copy.db").to_str().unwrap()]);
    assert!(!backup.status.success());
    let left: Vec<_> = std::fs::read_dir(&disk.0).unwrap().collect();
    assert!(left.iter().all(|file| {
        let name = file.as_ref().unwrap().file_name();
        !name.to_string_lossy().contains("copy.db")
    }));

    disk.make_room();
    until("all is kept", || stub.unconfirmed() == 0).await;
    asks(&stub, 8, "hello", "+1 555 0142").await;
    for chat in 101..=strangers {
        until("each is answered", || {
            stub.sent().iter().any(|message| message.chat == chat)
        })
        .await;
    }
    let sent = stub.sent();
    for chat in 101..=strangers {
        let answers = sent.iter().filter(|message| message.chat == chat);
        assert_eq!(answers.count(), 1, "{chat}");
    }
    println!("{} came while the disk was full", strangers - 100);
    assert!(serving.terminate().await.success());
    assert!(is_sound(&url).await);
}

/// Root may write everywhere, so the program runs as nobody where the test is root's.
fn as_nobody(folder: &Folder, arguments: &[&str]) -> Command {
    let own = folder.command(arguments);
    let mut command = Command::new("setpriv");
    command.args(["--reuid=65534", "--regid=65534", "--clear-groups"]);
    command.arg(folder.path.join("vialbell")).args(arguments);
    command.current_dir(&folder.path);
    for (name, value) in own.get_envs() {
        command.env(name, value.unwrap_or_default());
    }
    command.env("VIALBELL_LOG", "warn,vialbell=info");
    command
}

#[tokio::test(flavor = "multi_thread", worker_threads = 1)]
async fn records_that_may_not_be_written_are_left_as_they_are_in_one_line() {
    use std::os::unix::fs::{MetadataExt, PermissionsExt, chown};
    if std::fs::metadata("/proc/self").unwrap().uid() != 0 {
        println!("skipped: only root can be somebody else");
        return;
    }
    let stub = Stub::start().await;
    let folder = Folder::new(&stub);
    std::fs::copy(env!("CARGO_BIN_EXE_vialbell"), folder.path.join("vialbell")).unwrap();
    let records = folder.path.join("records");
    std::fs::create_dir(&records).unwrap();
    let file = records.join("vialbell.db");
    folder.keep_records_at("sqlite:records/vialbell.db");
    chown(&records, Some(65_534), Some(65_534)).unwrap();
    let enrolled = as_nobody(&folder, &["enrol", "juniper.toml"])
        .output()
        .unwrap();
    assert!(enrolled.status.success(), "{enrolled:?}");
    let log = PathBuf::from(format!("{}-wal", file.display()));
    assert!(
        !log.exists(),
        "a program that ended left records in its log"
    );
    let before = std::fs::read(&file).unwrap();
    let may = |path: &Path, mode: u32| {
        std::fs::set_permissions(path, std::fs::Permissions::from_mode(mode)).unwrap();
    };
    for (path, read_only, writable) in [(&file, 0o400, 0o600), (&records, 0o500, 0o700)] {
        // Where they are there already, a folder may well be read-only.
        for end in [".lock", "-wal", "-shm"] {
            let _ = std::fs::remove_file(format!("{}{end}", file.display()));
        }
        may(path, read_only);
        let mut serve = as_nobody(&folder, &["serve"]);
        let output = tokio::task::spawn_blocking(move || serve.output().unwrap());
        let output = output.await.unwrap();
        let said = String::from_utf8(output.stderr).unwrap();
        assert!(!output.status.success(), "{said}");
        assert_eq!(said.lines().count(), 1, "{said}");
        assert!(said.starts_with("records/vialbell.db"), "{said}");
        assert_eq!(std::fs::read(&file).unwrap(), before);
        may(path, writable);
    }
    let serving = folder.spawn(as_nobody(&folder, &["serve"]), "writable");
    asks(&stub, 7, "hello", "+1 555 0142").await;
    assert!(serving.terminate().await.success());
}
