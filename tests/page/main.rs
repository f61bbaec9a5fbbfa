//! The two-phone page: what it serves and refuses over HTTP, and, where a
//! browser is installed, how it is used in one.

mod accessibility;
mod browser;
mod echo;
mod http;
mod in_browser;
mod over_http;
mod real_program;
mod replay;
