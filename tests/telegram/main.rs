//! Telegram end to end, over teloxide's own client, against a Bot API server
//! of our own on loopback.

mod attackers;
mod backup;
mod clinic;
mod crashes;
mod disk;
#[path = "../support/file.rs"]
mod file;
mod inbox;
mod joining;
mod kills;
mod load;
#[path = "../support/postgres.rs"]
mod postgres;
mod program;
mod receiving;
mod secrecy;
mod sending;
mod several;
mod stub;
mod trouble;
mod watching;
mod webhook;
mod whole_day;

use stub::{Stub, TOKEN};
use vialbell::channel::telegram::{TelegramChannel, Token};

fn channel(stub: &Stub) -> TelegramChannel {
    TelegramChannel::new(Token::parse(TOKEN).unwrap(), Some(stub.url())).unwrap()
}
