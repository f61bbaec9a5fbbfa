//! The lines of a rehearsal script.
//!
//! `<RFC 3339 instant with offset> <who> <what>`; blank lines and lines that
//! start with `#` are passed over. `who` is `owner`, `owner:NAME`, `clinic`,
//! `clinic:NAME`, `clock` (no `what`: time passes up to that instant),
//! `stranger`, or `world` for what happens around a conversation:
//! `down until INSTANT`, `owner[:NAME] blocks`, `owner[:NAME] returns`,
//! `owner[:NAME] photo [CAPTION]`, `owner[:NAME] edits TEXT`.

use chrono::{DateTime, FixedOffset};

/// One line to play.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Line {
    /// Its number in the script, counted from 1.
    pub number: usize,
    /// When it happens.
    pub at: DateTime<FixedOffset>,
    /// Who does it.
    pub who: Who,
    /// What they do.
    pub what: What,
}

/// Who does something.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Who {
    /// A carer; the owner of the first prescription where no name is given.
    Owner {
        /// The carer's name.
        name: Option<String>,
    },
    /// Somebody at the clinic.
    Clinic {
        /// Their name.
        name: Option<String>,
    },
    /// Nobody: time passes.
    Clock,
    /// Somebody who was never invited.
    Stranger,
    /// What happens around a conversation.
    World,
}

/// What somebody does.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum What {
    /// Writes a text.
    Text(String),
    /// Taps the newest button with this label.
    Tap(String),
    /// Nothing but wait.
    Nothing,
    /// Something happens around the conversation.
    World(World),
}

/// What happens around a conversation; the name is the carer's.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum World {
    /// The program is down until then.
    DownUntil(DateTime<FixedOffset>),
    /// A carer closes the chat to us.
    Blocks(Option<String>),
    /// A carer opens the chat again.
    Returns(Option<String>),
    /// A carer sends a picture.
    Photo(Option<String>, String),
    /// A carer changes an earlier text to this.
    Edits(Option<String>, String),
}

/// Why a script cannot be read.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("line {number}: {why}")]
pub struct ScriptError {
    /// Counted from 1.
    pub number: usize,
    /// Why, and what to write instead.
    pub why: String,
}

impl Line {
    /// The line as it is meant where a name of several words was not quoted:
    /// in `owner:Teo Oakhollow given` the name ends where a known one does, and
    /// `owner:Teo` is enough where nobody else is called that.
    pub(super) fn with_whole_name(&self, known: &[&str]) -> Line {
        let (Who::Owner { name: Some(first) }, What::Text(text)) = (&self.who, &self.what) else {
            return self.with_only_namesake(known);
        };
        if known.contains(&first.as_str()) {
            return self.clone();
        }
        let written = format!("{first} {text}");
        let whole = known
            .iter()
            .filter(|name| {
                let after = written.strip_prefix(**name);
                after.is_some_and(|after| after.starts_with(char::is_whitespace))
            })
            .max_by_key(|name| name.len());
        let Some(whole) = whole else {
            return self.with_only_namesake(known);
        };
        let text = written[whole.len()..].trim();
        Line {
            who: Who::Owner {
                name: Some((*whole).to_owned()),
            },
            what: text_or_tap(text),
            ..self.clone()
        }
    }

    fn with_only_namesake(&self, known: &[&str]) -> Line {
        let Who::Owner { name: Some(first) } = &self.who else {
            return self.clone();
        };
        if known.contains(&first.as_str()) {
            return self.clone();
        }
        let start = format!("{first} ");
        let mut namesakes = known.iter().filter(|name| name.starts_with(&start));
        match (namesakes.next(), namesakes.next()) {
            (Some(only), None) => Line {
                who: Who::Owner {
                    name: Some((*only).to_owned()),
                },
                ..self.clone()
            },
            _ => self.clone(),
        }
    }
}

fn text_or_tap(text: &str) -> What {
    let label = text
        .strip_prefix('[')
        .and_then(|rest| rest.strip_suffix(']'));
    match label {
        Some(label) => What::Tap(label.to_owned()),
        None => What::Text(text.to_owned()),
    }
}

/// Reads a whole script, or says what is wrong with its first bad line. The
/// lines before it are read, since a rehearsal plays up to the bad one.
pub fn parse(text: &str) -> (Vec<Line>, Option<ScriptError>) {
    let mut lines: Vec<Line> = Vec::new();
    for (number, line) in (1..).zip(text.lines()) {
        let line = line.trim();
        if line.is_empty() || line.starts_with('#') {
            continue;
        }
        match parse_line(number, line) {
            Ok(line) if lines.last().is_some_and(|last| last.at > line.at) => {
                let why = format!(
                    "{} is before the line above; instants never go back",
                    line.at.to_rfc3339()
                );
                return (lines, Some(ScriptError { number, why }));
            }
            Ok(line) => lines.push(line),
            Err(why) => return (lines, Some(ScriptError { number, why })),
        }
    }
    (lines, None)
}

fn parse_line(number: usize, line: &str) -> Result<Line, String> {
    let (at, rest) = line.split_once(char::is_whitespace).unwrap_or((line, ""));
    let at = DateTime::parse_from_rfc3339(at).map_err(|_| {
        format!("“{at}” is not an instant; write it like 2026-03-08T07:30:00-06:00")
    })?;
    let (who, what) = split_who(rest.trim())?;
    let what = what.trim();
    let what = match &who {
        Who::Clock if what.is_empty() => What::Nothing,
        Who::Clock => return Err("clock takes nothing after it: only time passes".into()),
        Who::World => What::World(parse_world(what)?),
        _ if what.is_empty() => return Err("what is missing: a text, or a [Label] to tap".into()),
        _ => text_or_tap(what),
    };
    Ok(Line {
        number,
        at,
        who,
        what,
    })
}

/// A name ends at its closing quote, as in `owner:"Teo Oakhollow" given`, or at
/// the first space; whether more words belong to it is known only once the
/// prescriptions are ([`Line::with_whole_name`]).
fn split_who(rest: &str) -> Result<(Who, &str), String> {
    let end = rest.find([':', ' ', '\t']).unwrap_or(rest.len());
    let (role, after) = rest.split_at(end);
    let (name, what) = match after.strip_prefix(':') {
        None => (None, after),
        Some(named) => match named.strip_prefix('"') {
            Some(quoted) => match quoted.split_once('"') {
                Some((name, what)) => (Some(name), what),
                None => return Err("the name's closing quote is missing".into()),
            },
            None => {
                let (name, what) = named.split_once(char::is_whitespace).unwrap_or((named, ""));
                (Some(name), what)
            }
        },
    };
    if name.is_some_and(str::is_empty) {
        return Err(format!("a name is missing after “{role}:”"));
    }
    let name = name.map(str::to_owned);
    match (role, name) {
        ("owner", name) => Ok((Who::Owner { name }, what)),
        ("clinic", name) => Ok((Who::Clinic { name }, what)),
        ("clock", None) => Ok((Who::Clock, what)),
        ("stranger", None) => Ok((Who::Stranger, what)),
        ("world", None) => Ok((Who::World, what)),
        _ => Err(format!(
            "“{role}” is nobody; write owner, owner:NAME, clinic, clinic:NAME, clock, stranger or world"
        )),
    }
}

fn parse_world(what: &str) -> Result<World, String> {
    if let Some(until) = what.strip_prefix("down until ") {
        return DateTime::parse_from_rfc3339(until.trim())
            .map(World::DownUntil)
            .map_err(|_| format!("“{until}” is not an instant"));
    }
    let unknown = || {
        format!(
            "“{what}” does not happen here; write down until INSTANT, owner blocks, owner returns, \
             owner photo [CAPTION] or owner edits TEXT"
        )
    };
    let (who, rest) = split_who(what).map_err(|_| unknown())?;
    let Who::Owner { name } = who else {
        return Err(unknown());
    };
    let rest = rest.trim();
    let (event, words) = rest.split_once(char::is_whitespace).unwrap_or((rest, ""));
    match event {
        "blocks" => Ok(World::Blocks(name)),
        "returns" => Ok(World::Returns(name)),
        "photo" => Ok(World::Photo(name, words.trim().to_owned())),
        "edits" => Ok(World::Edits(name, words.trim().to_owned())),
        _ => Err(unknown()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn reads_what_the_design_shows() {
        let script = "\n# a comment\n2026-03-08T07:30:00-06:00 clock\n2026-03-08T07:31:00-06:00 owner given\n\
                      2026-03-08T07:32:00-06:00 owner:Teo [Not given]\n2026-03-08T07:33:00-06:00 clinic:Ana hello there\n";
        let (lines, error) = parse(script);
        assert_eq!(error, None);
        let whats: Vec<_> = lines
            .iter()
            .map(|line| (line.number, line.what.clone()))
            .collect();
        assert_eq!(
            whats,
            [
                (3, What::Nothing),
                (4, What::Text("given".into())),
                (5, What::Tap("Not given".into())),
                (6, What::Text("hello there".into())),
            ]
        );
        assert_eq!(
            lines[2].who,
            Who::Owner {
                name: Some("Teo".into())
            }
        );
    }

    #[test]
    fn says_which_line_is_wrong_and_why() {
        for (script, number, word) in [
            ("yesterday owner given", 1, "instant"),
            ("2026-03-08T07:30:00 owner given", 1, "instant"),
            ("\n2026-03-08T07:30:00Z cat given", 2, "nobody"),
            ("2026-03-08T07:30:00Z owner", 1, "missing"),
            ("2026-03-08T07:30:00Z clock tick", 1, "clock"),
            ("2026-03-08T07:30:00Z owner: given", 1, "name"),
            (
                "2026-03-08T07:30:00Z clock\n2026-03-08T07:29:59Z clock",
                2,
                "back",
            ),
            (
                "2026-03-08T07:30:00Z world owner sings",
                1,
                "does not happen",
            ),
        ] {
            let (_, error) = parse(script);
            let error = error.unwrap_or_else(|| panic!("{script} was read"));
            assert_eq!(error.number, number, "{script}");
            assert!(error.why.contains(word), "{script}: {error}");
        }
    }

    #[test]
    fn a_name_of_several_words_is_found_without_its_quotes() {
        let known = ["Teo Oakhollow", "Teo", "Ann Ray", "Maren Oakhollow"];
        let read = |line: &str, known: &[&str]| {
            let (lines, wrong) = parse(&format!("2026-03-08T07:30:00-06:00 {line}"));
            assert_eq!(wrong, None);
            let line = lines[0].with_whole_name(known);
            let Who::Owner { name: Some(name) } = line.who else {
                panic!("{line:?}")
            };
            (name, line.what)
        };
        let text = |text: &str| What::Text(text.into());
        let expect = |name: &str, what: What| (name.to_owned(), what);
        assert_eq!(
            read("owner:Ann Ray given", &known),
            expect("Ann Ray", text("given"))
        );
        assert_eq!(
            read("owner:Maren Oakhollow [Given]", &known),
            expect("Maren Oakhollow", What::Tap("Given".into()))
        );
        assert_eq!(
            read("owner:Ann given", &known),
            expect("Ann Ray", text("given"))
        );
        assert_eq!(
            read("owner:Ann [Given]", &known),
            expect("Ann Ray", What::Tap("Given".into()))
        );
        // A name that is known as it stands is not made longer.
        assert_eq!(
            read("owner:Teo Oakhollow did it", &known),
            expect("Teo", text("Oakhollow did it"))
        );
        let namesakes = ["Teo Oakhollow", "Teo Reed"];
        assert_eq!(
            read("owner:Teo given", &namesakes),
            expect("Teo", text("given"))
        );
        assert_eq!(
            read("owner:Teo Reed given", &namesakes),
            expect("Teo Reed", text("given"))
        );
    }
}
