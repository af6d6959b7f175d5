//! The data of a case in the page that shows it.

/// What stands in the page where the data go.
pub const PLACEHOLDER: &str = "\"the data of the case\"";

/// The page with the data of a case, a JSON text; `None` where the page has no place for them.
///
/// The data stand in a script element that is no program. There only `</script` and `<!--` mean something, and JSON has `<`
/// in its strings alone, where `\u003c` says the same.
pub fn filled(template: &str, data: &str) -> Option<String> {
    let (before, after) = template.split_once(PLACEHOLDER)?;
    Some([before, &data.replace('<', "\\u003c"), after].concat())
}

const DIGITS: &[u8; 64] = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";

/// Bytes as text, by base64 (RFC 4648, section 4).
pub fn base64(bytes: &[u8]) -> String {
    let mut out = String::with_capacity(bytes.len().div_ceil(3) * 4);
    for three in bytes.chunks(3) {
        let bits = three.iter().fold(0_u32, |bits, b| bits << 8 | u32::from(*b)) << (8 * (3 - three.len()));
        for i in 0..4 {
            let digit = bits >> (18 - 6 * i) & 63;
            out.push(if i <= three.len() { char::from(DIGITS[digit as usize]) } else { '=' });
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    /// RFC 4648, section 10.
    #[test]
    fn base64_is_that_of_the_standard() {
        let pairs = [
            ("", ""),
            ("f", "Zg=="),
            ("fo", "Zm8="),
            ("foo", "Zm9v"),
            ("foob", "Zm9vYg=="),
            ("foobar", "Zm9vYmFy"),
        ];
        for (plain, text) in pairs {
            assert_eq!(base64(plain.as_bytes()), text);
        }
        assert_eq!(base64(&[0xfb, 0xff]), "+/8=");
    }

    #[test]
    fn no_text_of_a_case_ends_the_element_that_holds_it() {
        let template = format!("<script type=\"application/json\">{PLACEHOLDER}</script><p>");
        let hostile = "</script><script>alert(1)</script><!-- \u{2028} \"the data of the case\"";
        let data = serde_json::json!({ "remark": hostile }).to_string();
        let page = filled(&template, &data).unwrap();
        let inside = page.split_once("json\">").unwrap().1.split_once("</script>").unwrap().0;
        let back: serde_json::Value = serde_json::from_str(inside).unwrap();
        assert_eq!(back["remark"], hostile);
        assert!(page.ends_with("</script><p>") && page.matches('<').count() == template.matches('<').count());
        assert_eq!(filled("<p>", "{}"), None);
    }
}
