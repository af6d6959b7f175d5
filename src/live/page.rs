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

#[cfg(test)]
mod tests {
    use super::*;

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
