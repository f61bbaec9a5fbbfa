//! Who may ask: a browser that was pointed at this machine by its user, and no
//! other page that happens to be open in it.

use axum::extract::Request;
use axum::http::{HeaderMap, HeaderName, HeaderValue, Method, StatusCode, header};
use axum::middleware::Next;
use axum::response::{IntoResponse, Response};

/// Sent with everything, so that the page loads nothing from elsewhere, runs
/// no code but its own, and shows in no other page's frame.
const HEADERS: [(HeaderName, &str); 6] = [
    (
        header::CONTENT_SECURITY_POLICY,
        "default-src 'none'; script-src 'self'; style-src 'self'; connect-src 'self'; \
         img-src 'self' data:; base-uri 'none'; form-action 'none'; frame-ancestors 'none'",
    ),
    (header::X_CONTENT_TYPE_OPTIONS, "nosniff"),
    (header::REFERRER_POLICY, "no-referrer"),
    (header::CACHE_CONTROL, "no-store"),
    (
        HeaderName::from_static("cross-origin-resource-policy"),
        "same-origin",
    ),
    (
        HeaderName::from_static("cross-origin-opener-policy"),
        "same-origin",
    ),
];

pub(super) async fn guard(request: Request, next: Next) -> Response {
    let mut response = match refusal(request.method(), request.headers()) {
        Some(why) => (StatusCode::FORBIDDEN, why).into_response(),
        None => next.run(request).await,
    };
    for (name, value) in HEADERS {
        response
            .headers_mut()
            .insert(name, HeaderValue::from_static(value));
    }
    response
}

fn refusal(method: &Method, headers: &HeaderMap) -> Option<&'static str> {
    let Some(host) = only(headers, header::HOST).filter(|host| is_loopback(host)) else {
        // Another name that was made to point here (DNS rebinding) would let
        // that name's page read everything.
        return Some("this page answers on 127.0.0.1 and localhost only");
    };
    if method == Method::GET || method == Method::HEAD {
        return None;
    }
    // A foreign page can post forms and plain text without asking, JSON it cannot.
    if !only(headers, header::CONTENT_TYPE).is_some_and(is_json) {
        return Some("only application/json is accepted");
    }
    if headers.contains_key(header::ORIGIN)
        && only(headers, header::ORIGIN) != Some(&format!("http://{host}"))
    {
        return Some("another page may not ask");
    }
    None
}

/// The header's value, where there is exactly one.
fn only(headers: &HeaderMap, name: HeaderName) -> Option<&str> {
    let mut values = headers.get_all(name).iter();
    let value = values.next()?;
    match values.next() {
        Some(_) => None,
        None => value.to_str().ok(),
    }
}

fn is_loopback(host: &str) -> bool {
    ["127.0.0.1", "localhost", "[::1]"].iter().any(|name| {
        host.strip_prefix(name)
            .is_some_and(|rest| rest.is_empty() || is_port(rest))
    })
}

fn is_port(rest: &str) -> bool {
    rest.strip_prefix(':').is_some_and(|digits| {
        !digits.is_empty() && digits.len() <= 5 && digits.bytes().all(|b| b.is_ascii_digit())
    })
}

fn is_json(content_type: &str) -> bool {
    let essence = content_type.split(';').next().unwrap_or_default();
    essence.trim().eq_ignore_ascii_case("application/json")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_the_names_of_this_machine_are_loopback() {
        for host in [
            "127.0.0.1",
            "127.0.0.1:8080",
            "localhost",
            "localhost:1",
            "[::1]:65535",
        ] {
            assert!(is_loopback(host), "{host}");
        }
        for host in [
            "",
            "localhost.",
            "localhost:",
            "localhost:80a",
            "localhost.example.org",
            "127.0.0.1.example.org:80",
            "127.0.0.2",
            "::1",
            "0.0.0.0:80",
            "example.org",
        ] {
            assert!(!is_loopback(host), "{host}");
        }
    }

    #[test]
    fn parameters_do_not_hide_another_content_type() {
        assert!(is_json("application/json"));
        assert!(is_json("Application/JSON; charset=utf-8"));
        assert!(!is_json("text/plain; application/json"));
        assert!(!is_json("application/jsonp"));
        assert!(!is_json("application/x-www-form-urlencoded"));
    }
}
