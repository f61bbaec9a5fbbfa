//! A Rust file as tokens, and the paths that it names, without a full parser:
//! comments and strings are left out, and what stands in `{}` of a `use` is
//! spread out.

/// One file.
pub struct Source {
    /// Its path under `src`.
    pub name: String,
    /// The path of its module: none for `main.rs` and `lib.rs`.
    pub module: Vec<String>,
    /// Words, numbers and marks, in order.
    pub tokens: Vec<String>,
}

impl Source {
    pub fn read(name: &str, text: &str) -> Source {
        let parts = name.trim_end_matches(".rs").split('/');
        let module = parts
            .filter(|part| !["mod", "lib", "main"].contains(part))
            .map(str::to_owned)
            .collect();
        Source {
            name: name.to_owned(),
            module,
            tokens: tokens(text),
        }
    }

    /// The module of `src` that it belongs to; `main` and `lib` are their own.
    pub fn top(&self) -> &str {
        match self.module.first() {
            Some(first) => first,
            None => self.name.trim_end_matches(".rs"),
        }
    }

    /// Every path of ours that it names, from the crate's root.
    pub fn paths(&self) -> Vec<Vec<String>> {
        let mut found = Vec::new();
        let mut inner: Vec<(String, usize)> = Vec::new();
        let mut depth = 0;
        let mut at = 0;
        while at < self.tokens.len() {
            let token = self.tokens[at].as_str();
            let after = |n: usize| self.tokens.get(at + n).map_or("", String::as_str);
            match token {
                "{" => depth += 1,
                "}" => {
                    depth -= 1;
                    inner.retain(|(_, opened)| *opened < depth + 1);
                }
                "mod" if after(2) == "{" => {
                    inner.push((after(1).to_owned(), depth + 1));
                }
                "crate" | "super" | "vialbell" if after(1) == "::" => {
                    let starts_path = at == 0 || self.tokens[at - 1] != "::";
                    if starts_path {
                        let mut base = self.module.clone();
                        base.extend(inner.iter().map(|(name, _)| name.clone()));
                        tree(&self.tokens, &mut at.clone(), &base, &[], &mut found);
                    }
                }
                _ => {}
            }
            at += 1;
        }
        found
    }
}

/// Follows one path from `at` on, and each branch of its `{}`.
fn tree(
    tokens: &[String],
    at: &mut usize,
    base: &[String],
    before: &[String],
    found: &mut Vec<Vec<String>>,
) {
    let mut path = before.to_vec();
    let mut from = base.to_vec();
    let mut first = before.is_empty();
    while let Some(token) = tokens.get(*at).map(String::as_str) {
        match token {
            "crate" | "vialbell" if first => path = Vec::new(),
            "super" => {
                from.pop();
                path = from.clone();
            }
            "self" => {}
            "{" => {
                *at += 1;
                while tokens.get(*at).is_some_and(|t| t != "}") {
                    tree(tokens, at, base, &path, found);
                    // An `as NAME` of a branch is no part of its path.
                    while tokens.get(*at).is_some_and(|t| t != "," && t != "}") {
                        *at += 1;
                    }
                    if tokens.get(*at).is_some_and(|t| t == ",") {
                        *at += 1;
                    }
                }
                *at += 1;
                return;
            }
            word => path.push(word.to_owned()),
        }
        first = false;
        *at += 1;
        if tokens.get(*at).map(String::as_str) != Some("::") {
            break;
        }
        *at += 1;
        // `Vec::<T>`: the path is over.
        if tokens.get(*at).is_some_and(|t| t == "<") {
            break;
        }
    }
    found.push(path);
}

fn tokens(text: &str) -> Vec<String> {
    let chars: Vec<char> = text.chars().collect();
    let mut tokens = Vec::new();
    let mut at = 0;
    while at < chars.len() {
        let rest = &chars[at..];
        let length = comment(rest)
            .or_else(|| string(rest))
            .or_else(|| quoted(rest));
        if let Some(length) = length {
            at += length;
            continue;
        }
        let c = rest[0];
        let is_word = |c: &char| c.is_alphanumeric() || *c == '_';
        if c.is_whitespace() {
            at += 1;
        } else if c.is_ascii_digit() {
            let length = number(rest, tokens.last().is_some_and(|t: &String| t == "."));
            tokens.push(rest[..length].iter().collect());
            at += length;
        } else if is_word(&c) {
            let length = rest.iter().take_while(|c| is_word(c)).count();
            tokens.push(rest[..length].iter().collect());
            at += length;
        } else if rest.starts_with(&[':', ':']) {
            tokens.push("::".into());
            at += 2;
        } else {
            tokens.push(c.into());
            at += 1;
        }
    }
    tokens
}

/// A number; one with a point is one token, but not the `0` of `pair.0.max()` or of `0..5`.
fn number(rest: &[char], field: bool) -> usize {
    let digits = |from: usize| {
        rest[from..]
            .iter()
            .take_while(|c| c.is_alphanumeric() || **c == '_')
            .count()
    };
    let whole = digits(0);
    let point =
        rest.get(whole) == Some(&'.') && rest.get(whole + 1).is_some_and(char::is_ascii_digit);
    if point && !field {
        whole + 1 + digits(whole + 1)
    } else {
        whole
    }
}

fn comment(rest: &[char]) -> Option<usize> {
    if rest.starts_with(&['/', '/']) {
        return Some(rest.iter().take_while(|c| **c != '\n').count());
    }
    if !rest.starts_with(&['/', '*']) {
        return None;
    }
    let (mut depth, mut at) = (0, 0);
    while at < rest.len() {
        if rest[at..].starts_with(&['/', '*']) {
            depth += 1;
            at += 2;
        } else if rest[at..].starts_with(&['*', '/']) {
            depth -= 1;
            at += 2;
            if depth == 0 {
                break;
            }
        } else {
            at += 1;
        }
    }
    Some(at)
}

/// `"…"`, `b"…"`, `r#"…"#` and the like.
fn string(rest: &[char]) -> Option<usize> {
    let prefix = rest
        .iter()
        .take_while(|c| matches!(c, 'b' | 'r' | 'c'))
        .count();
    if prefix > 2 {
        return None;
    }
    let raw = rest[..prefix].contains(&'r');
    let hashes = if raw {
        rest[prefix..].iter().take_while(|c| **c == '#').count()
    } else {
        0
    };
    let open = prefix + hashes;
    if rest.get(open) != Some(&'"') {
        return None;
    }
    let mut at = open + 1;
    while at < rest.len() {
        match rest[at] {
            '\\' if !raw => at += 2,
            '"' if rest[at + 1..].iter().take_while(|c| **c == '#').count() >= hashes => {
                return Some(at + 1 + hashes);
            }
            _ => at += 1,
        }
    }
    Some(rest.len())
}

/// `'x'` and `'\''`, but no lifetime.
fn quoted(rest: &[char]) -> Option<usize> {
    if rest[0] != '\'' {
        return None;
    }
    if rest.get(1) == Some(&'\\') {
        let end = rest[3.min(rest.len())..].iter().position(|c| *c == '\'')?;
        return Some(3 + end + 1);
    }
    (rest.get(2) == Some(&'\'')).then_some(3)
}
