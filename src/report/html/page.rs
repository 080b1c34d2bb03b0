//! The frame of every page: head, style, the rule that nothing is fetched, and the patterns that fills are made of.
//!
//! A page is well-formed XML as well as HTML, so that whoever wants the figures can read it with either parser.

use maud::{DOCTYPE, Markup, PreEscaped, html};
use sha2::{Digest, Sha256};

use super::palette;

/// How everything looks; the colours come from [`palette`].
const STYLE: &str = include_str!("style.css");

/// A page on its way to text.
#[derive(Clone, Debug)]
pub struct Page {
    /// What the window is called.
    pub title: String,
    /// Everything below it.
    pub body: Markup,
}

impl Page {
    /// The whole file.
    pub fn write(&self) -> String {
        let style = format!(":root{{{}}}\n{STYLE}", palette::properties());
        let written = html! {
            (DOCTYPE)
            html lang="en" {
                head {
                    (head(&style))
                    title { (self.title) }
                    style { (PreEscaped(&style)) }
                }
                body {
                    (patterns())
                    main { (self.body) }
                }
            }
        };
        written.into_string().chars().map(printable).chain(['\n']).collect()
    }
}

/// What may not stand in a file of HTML or XML becomes a blank: control characters, which titles from elsewhere may hold.
fn printable(sign: char) -> char {
    let refused = sign.is_control() && sign != '\n' || matches!(sign, '\u{fffe}' | '\u{ffff}');
    if refused { ' ' } else { sign }
}

/// What the browser is told first. Nothing may be loaded and nothing may run; the one style sheet is known by its hash.
fn head(style: &str) -> Markup {
    let hash = base64(&Sha256::digest(style.as_bytes()));
    let policy =
        format!("default-src 'none'; style-src 'sha256-{hash}'; base-uri 'none'; form-action 'none'");
    PreEscaped(format!(
        "<meta charset=\"utf-8\"/>\
         <meta http-equiv=\"Content-Security-Policy\" content=\"{policy}\"/>\
         <meta name=\"viewport\" content=\"width=device-width, initial-scale=1\"/>\
         <meta name=\"referrer\" content=\"no-referrer\"/>"
    ))
}

/// The patterns of scale and outside, once for all pictures.
fn patterns() -> Markup {
    let (hatch, hatched) = (palette::SCALE_GROUND, palette::SCALE);
    let (dots, dotted) = (palette::OUTSIDE_GROUND, palette::OUTSIDE);
    PreEscaped(format!(
        "<svg class=\"defs\" aria-hidden=\"true\"><defs>\
         <pattern id=\"hatch\" width=\"5\" height=\"5\" patternUnits=\"userSpaceOnUse\" patternTransform=\"rotate(45)\">\
         <rect width=\"5\" height=\"5\" fill=\"{hatch}\"/><rect width=\"2.2\" height=\"5\" fill=\"{hatched}\"/></pattern>\
         <pattern id=\"dots\" width=\"4\" height=\"4\" patternUnits=\"userSpaceOnUse\">\
         <rect width=\"4\" height=\"4\" fill=\"{dots}\"/><circle cx=\"2\" cy=\"2\" r=\"1.15\" fill=\"{dotted}\"/></pattern>\
         </defs></svg>"
    ))
}

/// Base 64 (RFC 4648), as the policy writes a hash.
fn base64(bytes: &[u8]) -> String {
    const SIGNS: &[u8; 64] = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    let mut text = String::new();
    for group in bytes.chunks(3) {
        let byte = |index: usize| u32::from(group.get(index).copied().unwrap_or(0));
        let bits = byte(0) << 16 | byte(1) << 8 | byte(2);
        for place in 0..4 {
            let sign = SIGNS[(bits >> (18 - 6 * place) & 63) as usize];
            text.push(if place > group.len() { '=' } else { char::from(sign) });
        }
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn base_64_is_that_of_the_standard() {
        let check = |bytes: &str, expect: &str| assert_eq!(base64(bytes.as_bytes()), expect);
        // RFC 4648, section 10.
        check("", "");
        check("f", "Zg==");
        check("fo", "Zm8=");
        check("foo", "Zm9v");
        check("foobar", "Zm9vYmFy");
    }

    #[test]
    fn the_style_has_no_colour_of_its_own_and_no_sign_that_xml_reads() {
        assert!(!STYLE.contains(['<', '&']));
        let hashes = STYLE.match_indices('#').map(|(at, _)| &STYLE[at..]);
        assert!(hashes.into_iter().all(|rest| rest.starts_with("#hatch") || rest.starts_with("#dots")));
    }

    #[test]
    fn what_comes_from_outside_is_escaped() {
        let hostile = "</title><script>alert(1)</script>";
        let page = Page { title: hostile.to_owned(), body: html! { h1 { (hostile) } } }.write();
        assert!(!page.contains("<script"), "{page}");
        assert_eq!(page.matches("&lt;script&gt;").count(), 2);
    }
}
