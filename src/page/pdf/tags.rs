//! The structure of a report: what is a heading, a list, a table, and which marks on the pages belong to it.

use std::num::NonZeroU16;

use krilla::tagging::{Identifier, ListNumbering, TableHeaderScope, Tag, TagGroup, TagKind, TagTree};

/// What a part of the structure is.
#[derive(Clone, Debug, PartialEq)]
pub enum Kind {
    /// A heading of a level from one, with its text.
    Heading(u16, String),
    /// A paragraph.
    Paragraph,
    /// A list.
    List,
    /// An item of a list.
    Item,
    /// The sign before an item.
    Label,
    /// The words of an item.
    Body,
    /// A table.
    Table,
    /// A row of a table.
    Row,
    /// A cell that names its column.
    ColumnName,
    /// A cell that names its row.
    RowName,
    /// Any other cell.
    Cell,
    /// A drawing and what it shows.
    Figure(String),
    /// The words below a drawing.
    Caption,
}

/// Number of a part.
pub type Part = usize;

/// The parts of a report in reading order, and how they nest.
#[derive(Default)]
pub struct Structure {
    parts: Vec<(Kind, Vec<Part>)>,
    top: Vec<Part>,
}

impl Structure {
    /// A new part, within another or at the top.
    pub fn part(&mut self, kind: Kind, within: Option<Part>) -> Part {
        let part = self.parts.len();
        self.parts.push((kind, Vec::new()));
        match within {
            Some(parent) => self.parts[parent].1.push(part),
            None => self.top.push(part),
        }
        part
    }

    /// How many parts there are.
    pub fn len(&self) -> usize {
        self.parts.len()
    }

    /// The tree for the file, with the marks that were made for each part.
    pub fn tree(&self, marks: &[Vec<Identifier>]) -> TagTree {
        let mut tree = TagTree::new().with_lang(Some("en".to_owned()));
        self.top.iter().for_each(|part| tree.push(self.group(*part, marks)));
        tree
    }

    fn group(&self, part: Part, marks: &[Vec<Identifier>]) -> TagGroup {
        let (kind, children) = &self.parts[part];
        let mut group = TagGroup::new(tag(kind));
        marks[part].iter().for_each(|mark| group.push(*mark));
        children.iter().for_each(|child| group.push(self.group(*child, marks)));
        group
    }
}

fn tag(kind: &Kind) -> TagKind {
    match kind {
        Kind::Heading(level, text) => {
            Tag::Hn(NonZeroU16::new(*level).unwrap_or(NonZeroU16::MIN), Some(text.clone())).into()
        }
        Kind::Paragraph => Tag::P.into(),
        Kind::List => Tag::L(ListNumbering::Disc).into(),
        Kind::Item => Tag::LI.into(),
        Kind::Label => Tag::Lbl.into(),
        Kind::Body => Tag::LBody.into(),
        Kind::Table => Tag::Table.into(),
        Kind::Row => Tag::TR.into(),
        Kind::ColumnName => Tag::TH(TableHeaderScope::Column).into(),
        Kind::RowName => Tag::TH(TableHeaderScope::Row).into(),
        Kind::Cell => Tag::TD.into(),
        Kind::Figure(shows) => Tag::Figure(Some(shows.clone())).into(),
        Kind::Caption => Tag::Caption.into(),
    }
}
