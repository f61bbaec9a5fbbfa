//! What is wrong with a file, said so that its writer finds the place.

use std::fmt;

/// One thing that is wrong with a file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Mistake {
    /// The file, as it was named.
    pub file: String,
    /// The line, counted from 1, where one line can be named.
    pub line: Option<usize>,
    /// The key with its tables, such as `dose.window`; empty where the file as a whole is meant.
    pub key: String,
    /// What is wrong and what to write instead.
    pub what: String,
}

impl fmt::Display for Mistake {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}:", self.file)?;
        if let Some(line) = self.line {
            write!(f, "{line}:")?;
        }
        if !self.key.is_empty() {
            write!(f, " {}:", self.key)?;
        }
        write!(f, " {}", self.what)
    }
}

/// Everything that is wrong with what was read, at least one mistake: one line each.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Mistakes(pub Vec<Mistake>);

impl Mistakes {
    /// A single mistake about a file as a whole.
    pub(super) fn of_file(file: &str, what: String) -> Mistakes {
        Mistakes(vec![Mistake {
            file: file.to_owned(),
            line: None,
            key: String::new(),
            what,
        }])
    }
}

impl fmt::Display for Mistakes {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (index, mistake) in self.0.iter().enumerate() {
            if index > 0 {
                writeln!(f)?;
            }
            mistake.fmt(f)?;
        }
        Ok(())
    }
}

impl std::error::Error for Mistakes {}
