//! XML by quick-xml, so that escaping is the library's.

use quick_xml::{
    Writer,
    events::{BytesDecl, BytesEnd, BytesStart, BytesText, Event},
};

/// A document that is being written. Writing to memory never fails, so that what the library returns is not looked at.
pub struct Xml(Writer<Vec<u8>>);

impl Xml {
    /// A document in UTF-8.
    pub fn new() -> Self {
        let mut writer = Writer::new_with_indent(Vec::new(), b' ', 1);
        let _ = writer.write_event(Event::Decl(BytesDecl::new("1.0", Some("UTF-8"), None)));
        Self(writer)
    }

    /// An element with what `inside` writes.
    pub fn element(&mut self, name: &str, attributes: &[(&str, &str)], inside: impl FnOnce(&mut Self)) {
        let start = BytesStart::new(name).with_attributes(attributes.iter().copied());
        let _ = self.0.write_event(Event::Start(start));
        inside(self);
        let _ = self.0.write_event(Event::End(BytesEnd::new(name)));
    }

    /// An element with a text.
    pub fn text(&mut self, name: &str, text: &str) {
        self.text_with(name, &[], text);
    }

    /// An element with attributes and a text.
    pub fn text_with(&mut self, name: &str, attributes: &[(&str, &str)], text: &str) {
        self.element(name, attributes, |xml| {
            let _ = xml.0.write_event(Event::Text(BytesText::new(&plain(text))));
        });
    }

    /// The bytes, with a line end.
    pub fn finish(self) -> Vec<u8> {
        let mut out = self.0.into_inner();
        out.push(b'\n');
        out
    }
}

/// A text without what XML 1.0 does not allow ([`XML`](crate::sources::XML), production 2) and without what turns the direction of
/// writing: each becomes U+FFFD.
pub fn plain(text: &str) -> String {
    let turns = |c| matches!(c, '\u{200e}' | '\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}');
    let kept = |c: char| {
        matches!(c, '\n' | '\t') || !(c.is_control() || turns(c) || matches!(c, '\u{fffe}' | '\u{ffff}'))
    };
    text.chars().map(|c| if kept(c) { c } else { '\u{fffd}' }).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_xml_does_not_allow_becomes_a_replacement() {
        assert_eq!(
            plain("a\u{0}b\u{1b}[31m\u{202e}c\n\td\u{ffff}"),
            "a\u{fffd}b\u{fffd}[31m\u{fffd}c\n\td\u{fffd}"
        );
        let mut xml = Xml::new();
        xml.text_with("a", &[("b", "\"<&\n")], "]]><script>");
        let text = String::from_utf8(xml.finish()).unwrap();
        assert!(!text.contains("<script") && !text.contains("]]>"), "{text}");
    }
}
