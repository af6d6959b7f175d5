//! Whom a report or an export is for, and how to compute it again.

use crate::{
    case::Digest,
    geodesy::Place,
    report::{Answer, place},
    units::Metres,
};

/// Whom something is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Form {
    /// Those who work on the case: everything.
    Full,
    /// Others: places to a thousandth of a degree (111 m or less), and neither maps, remarks, notes nor devices.
    Shared,
}

/// Places of the shared form are written as if they were known no better than this, which leaves three decimals of a degree.
const SHARED_WITHIN: Metres = Metres::new(1_000.0);

impl Form {
    /// Whether it goes to others.
    pub fn shared(self) -> bool {
        self == Self::Shared
    }

    /// A place with the digits that it deserves and the form allows.
    pub fn place(self, at: Place, within: Metres) -> String {
        place(at, if self.shared() { SHARED_WITHIN } else { within })
    }

    /// A text of an answer, with the places in it as the form allows.
    pub fn allowed(self, answer: &Answer, text: &str) -> String {
        let places = answer.fit.modes().iter().map(|m| m.place).chain([answer.fit.quoted()]);
        places.fold(text.to_owned(), |text, at| {
            text.replace(&place(at, answer.deserved()), &self.place(at, answer.deserved()))
        })
    }
}

/// How to compute the same again.
#[derive(Clone, Debug, Default)]
pub struct Made {
    /// Version of the program.
    pub version: String,
    /// The command, without the program's name.
    pub command: String,
    /// Files that were read, with their hashes.
    pub inputs: Vec<(String, Digest)>,
}
