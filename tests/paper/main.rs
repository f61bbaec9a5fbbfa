//! What goes home: the take-home sheet, the picture of a course, the calendar
//! file. Each is read back by something that did not write it.

mod calendar;
mod home;
mod ics;
mod looks;
mod picture;
mod sheet;
