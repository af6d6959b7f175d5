//! Which column is which: header names in four languages, with the units and the north that they carry.

use crate::ingest::{
    NorthLabel,
    measure::{UNITS, bandwidth, length},
    names::Field,
    vocabulary::Vocabulary,
};

/// A column that was recognised, with what its header says beside the name.
#[derive(Clone, Debug, PartialEq)]
struct Column {
    field: Field,
    index: usize,
    factor: f64,
    north: Option<NorthLabel>,
    /// Words that stand where a unit should, lower case.
    notes: Vec<String>,
    /// Whether a note is neither a unit of this field nor a north.
    strange: bool,
}

/// The header of a file.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Columns {
    /// Headers as written.
    pub headers: Vec<String>,
    /// By position.
    factors: Vec<f64>,
    columns: Vec<Column>,
    refused: Vec<Column>,
}

impl Columns {
    /// Recognises a header. Of two columns with the same meaning the first counts whose unit is understood.
    pub fn of(headers: &[String], vocabulary: Vocabulary) -> Self {
        let mut out =
            Self { headers: headers.to_vec(), factors: vec![1.0; headers.len()], ..Self::default() };
        for (index, header) in headers.iter().enumerate() {
            let Some(column) = column(index, header, vocabulary) else { continue };
            if column.field != Field::Swing && out.at(column.field).is_some() {
                continue;
            }
            out.factors[index] = column.factor;
            let known = if column.strange { &mut out.refused } else { &mut out.columns };
            known.push(column);
        }
        // Headers that name different norths contradict one another.
        let north = out.north();
        let (columns, others) =
            out.columns.into_iter().partition(|c: &Column| c.north.is_none() || c.north == north);
        out.columns = columns;
        out.refused.extend::<Vec<Column>>(others);
        out
    }

    /// Position of a field's column.
    pub fn at(&self, field: Field) -> Option<usize> {
        self.columns.iter().find(|c| c.field == field).map(|c| c.index)
    }

    /// Whether a field has a column, be it one whose unit is not understood.
    pub fn named(&self, field: Field) -> bool {
        self.columns.iter().chain(&self.refused).any(|c| c.field == field)
    }

    /// Positions of the swings.
    pub fn swings(&self) -> impl Iterator<Item = usize> + '_ {
        self.columns.iter().filter(|c| c.field == Field::Swing).map(|c| c.index)
    }

    /// Factor that brings a column's numbers to degrees, metres, megahertz or decibels.
    pub fn factor(&self, index: usize) -> f64 {
        self.factors.get(index).copied().unwrap_or(1.0)
    }

    /// Whether a field's header carries one of these words.
    pub fn notes(&self, field: Field, words: &[&str]) -> bool {
        let column = self.columns.iter().find(|c| c.field == field);
        column.is_some_and(|c| c.notes.iter().any(|n| words.contains(&n.as_str())))
    }

    /// The words beside a field's name.
    pub fn words(&self, field: Field) -> &[String] {
        self.columns.iter().find(|c| c.field == field).map_or(&[], |c| &c.notes)
    }

    /// Whether the header of the times says that they are in UTC.
    pub fn says_utc(&self) -> bool {
        self.notes(Field::Time, &["utc", "gmt"])
    }

    /// Metres per unit, where a field's header names a unit of length.
    pub fn length(&self, field: Field) -> Option<f64> {
        let column = self.columns.iter().find(|c| c.field == field)?;
        column.notes.iter().find_map(|note| length(note))
    }

    /// The north that a header of bearings or swings names.
    pub fn north(&self) -> Option<NorthLabel> {
        self.columns.iter().find_map(|c| c.north)
    }

    /// Positions of columns that are not used because what stands beside their name is not understood.
    pub fn strange(&self) -> impl Iterator<Item = usize> + '_ {
        self.refused.iter().map(|c| c.index)
    }

    /// Columns with a header that was not recognised.
    pub fn unknown(&self) -> impl Iterator<Item = usize> + '_ {
        let known = |index| self.columns.iter().chain(&self.refused).any(|c| c.index == index);
        (0..self.headers.len()).filter(move |i| !known(*i) && !self.headers[*i].is_empty())
    }

    /// Columns without a header.
    pub fn unnamed(&self) -> impl Iterator<Item = usize> + '_ {
        (0..self.headers.len()).filter(|i| self.headers[*i].is_empty())
    }
}

/// The field of a header, be its unit understood or not.
pub fn field_of(header: &str, vocabulary: Vocabulary) -> Option<Field> {
    column(0, header, vocabulary).map(|c| c.field)
}

/// Longer headers are no names of columns.
const LONGEST: usize = 200;

fn column(index: usize, header: &str, vocabulary: Vocabulary) -> Option<Column> {
    if header.len() > LONGEST {
        return None;
    }
    let (name, inside) = taken_apart(header);
    let (field, units, mut norths) = field(&name, vocabulary)?;
    // In brackets a single letter may name a north; behind the name it is a unit.
    norths.extend(inside.iter().filter_map(|word| north_of(field, word)));
    let north = norths.first().copied();
    let notes: Vec<String> =
        units.into_iter().chain(inside.into_iter().filter(|w| north_of(field, w).is_none())).collect();
    let unclear = |note: &String| field.factor(note).is_none() && !FILLERS.contains(&note.as_str());
    let strange = norths.iter().any(|n| Some(*n) != north) || field.measures() && notes.iter().any(unclear);
    let factor = notes.iter().filter_map(|note| field.factor(note)).product();
    Some(Column { field, index, factor, north, notes, strange })
}

/// Words beside the name of a north that say nothing more.
const FILLERS: [&str; 5] = ["from", "north", "nord", "norte", "to"];

/// The north that a note of a direction names: `magnetic`, `°M`, `T`.
fn north_of(field: Field, note: &str) -> Option<NorthLabel> {
    let word = note.trim_start_matches('°');
    NorthLabel::from_word(word).filter(|_| field.is_direction())
}

/// Words of the name and words in brackets, in lower case.
fn taken_apart(header: &str) -> (Vec<String>, Vec<String>) {
    let mut depth = 0;
    let (mut name, mut inside) = (String::new(), String::new());
    for c in header.chars() {
        match c {
            '[' | '(' => depth += 1,
            ']' | ')' => {
                depth = (depth - 1).max(0);
                // What stands in the next brackets is another word.
                inside.push(' ');
            }
            ',' | ';' | '/' if depth > 0 => inside.push(' '),
            _ if depth > 0 => inside.extend(c.to_lowercase()),
            '_' | '-' | '.' => name.push(' '),
            _ => name.extend(c.to_lowercase()),
        }
    }
    let words = |text: &str| text.split_whitespace().map(str::to_owned).collect();
    (words(&name), words(&inside))
}

/// The field of a name, the units behind it, and the norths that it names.
fn field(name: &[String], vocabulary: Vocabulary) -> Option<(Field, Vec<String>, Vec<NorthLabel>)> {
    if let Some((field, units)) = known(name, vocabulary) {
        return Some((field, units, Vec::new()));
    }
    // A word that names a north may stand anywhere beside the name of the bearing; a single letter may mean a metre.
    let label = |word: &str| NorthLabel::from_word(word).filter(|_| word.chars().count() > 1);
    let norths: Vec<NorthLabel> = name.iter().filter_map(|w| label(w)).collect();
    let says_north = !norths.is_empty();
    let rest: Vec<String> = name
        .iter()
        .filter(|w| label(w).is_none() && !(says_north && FILLERS.contains(&w.as_str())))
        .cloned()
        .collect();
    let (field, units) = known(&rest, vocabulary).filter(|(f, _)| f.is_direction())?;
    Some((field, units, norths))
}

/// The field of a name without what stands behind it as units.
fn known(name: &[String], vocabulary: Vocabulary) -> Option<(Field, Vec<String>)> {
    let width = |word: &str| vocabulary.has_levels() && bandwidth(word).is_some();
    let unit = |word: &String| UNITS.iter().any(|(u, ..)| u == word) || width(word);
    let mut words = name;
    loop {
        let plain = words.join(" ");
        let found = vocabulary.field(&plain);
        let numbered = || {
            let rest = plain.strip_prefix("swing")?.trim_start();
            (vocabulary == Vocabulary::Bearings
                && !rest.is_empty()
                && rest.bytes().all(|b| b.is_ascii_digit()))
            .then_some(Field::Swing)
        };
        if let Some(field) = found.or_else(numbered) {
            return Some((field, name[words.len()..].to_vec()));
        }
        match words {
            [rest @ .., last] if unit(last) && !rest.is_empty() => words = rest,
            _ => return None,
        }
    }
}
