//! Tables: widths of columns, rows that stay together, a head that is repeated on each page.

use crate::page::{
    document::Table,
    pdf::{
        flow::{Flow, LEADING, SMALL, What},
        letters::{Face, Letters},
        lines::{Line, lines, widths},
        tags::{Kind, Part},
    },
};

/// Between a cell's text and its edges.
const INSIDE: f32 = 4.0;
/// Between a row's text and its rules.
const ABOVE: f32 = 2.5;
const STEP: f32 = SMALL * LEADING;
const SHADE: u8 = 0xe8;

/// A row as lines, cell by cell, with the parts that they belong to.
struct Row {
    cells: Vec<(Vec<Line>, Option<Part>)>,
}

impl Row {
    fn longest(&self) -> usize {
        self.cells.iter().map(|c| c.0.len()).max().unwrap_or(0)
    }

    fn height(&self) -> f32 {
        self.longest() as f32 * STEP + 2.0 * ABOVE
    }
}

/// Sets a table.
pub fn set(flow: &mut Flow, table: &Table) {
    let columns = columns(flow.letters, table, flow.room);
    let part = flow.laid.structure.part(Kind::Table, None);
    let broken = |face: Face, text: &str, i: usize| {
        lines(flow.letters, &[(face, text)], SMALL, columns[i] - 2.0 * INSIDE)
    };
    let names: Vec<Vec<Line>> =
        table.head.iter().enumerate().map(|(i, h)| broken(Face::Bold, h, i)).collect();
    let rows: Vec<Vec<Vec<Line>>> = table
        .rows
        .iter()
        .map(|row| {
            row.iter()
                .take(columns.len())
                .enumerate()
                .map(|(i, c)| broken(Face::of(c.set), &c.text, i))
                .collect()
        })
        .collect();
    let head = parts(flow, names, part, |_| Kind::ColumnName);
    let named = table.head.is_empty();
    let first = rows.first().map_or(0, |r| r.iter().map(Vec::len).max().unwrap_or(0));
    flow.need((head.height() + first as f32 * STEP + 2.0 * ABOVE).min(flow.whole()));
    let setting = Setting { columns: &columns, numbers: &table.numbers, named };
    setting.head(flow, &head, true);
    for row in rows {
        let row = parts(flow, row, part, |i| if named && i == 0 { Kind::RowName } else { Kind::Cell });
        setting.row(flow, &row, &head);
    }
    flow.y += 8.0;
}

/// A row of the structure with its cells; nothing for a head without names.
fn parts(flow: &mut Flow, cells: Vec<Vec<Line>>, table: Part, kind: impl Fn(usize) -> Kind) -> Row {
    if cells.is_empty() {
        return Row { cells: Vec::new() };
    }
    let row = flow.laid.structure.part(Kind::Row, Some(table));
    let cell = |(i, lines)| (lines, Some(flow.laid.structure.part(kind(i), Some(row))));
    Row { cells: cells.into_iter().enumerate().map(cell).collect() }
}

/// How the rows of one table are set.
struct Setting<'a> {
    columns: &'a [f32],
    numbers: &'a [usize],
    named: bool,
}

impl Setting<'_> {
    /// The names of the columns; on later pages for the eye alone, since they were read already.
    fn head(&self, flow: &mut Flow, head: &Row, first: bool) {
        flow.put(flow.left, flow.y, None, What::Rule(flow.room, 0.8));
        if head.cells.is_empty() {
            return;
        }
        let height = head.height();
        flow.put(flow.left, flow.y, None, What::Area(flow.room, height, SHADE));
        self.lines(flow, head, 0, head.longest(), first);
        flow.y += height;
        flow.put(flow.left, flow.y, None, What::Rule(flow.room, 0.8));
    }

    /// A row on one page where it fits on one at all.
    fn row(&self, flow: &mut Flow, row: &Row, head: &Row) {
        let room = flow.whole() - if head.cells.is_empty() { 0.0 } else { head.height() };
        let (mut from, longest) = (0, row.longest());
        while from < longest {
            let left = (longest - from) as f32 * STEP + 2.0 * ABOVE;
            if flow.rest() < left && (left <= room || flow.rest() < 6.0 * STEP) {
                flow.turn();
                self.head(flow, head, false);
            }
            let fit = (((flow.rest() - 2.0 * ABOVE) / STEP) as usize).clamp(1, longest - from);
            let height = fit as f32 * STEP + 2.0 * ABOVE;
            if self.named {
                flow.put(flow.left, flow.y, None, What::Area(self.columns[0], height, SHADE));
            }
            self.lines(flow, row, from, fit, true);
            flow.y += height;
            flow.put(flow.left, flow.y, None, What::Rule(flow.room, 0.4));
            from += fit;
        }
    }

    /// Some lines of each cell.
    fn lines(&self, flow: &mut Flow, row: &Row, from: usize, count: usize, read: bool) {
        let mut x = flow.left;
        for (i, (lines, part)) in row.cells.iter().enumerate() {
            let width = self.columns[i];
            for (k, line) in lines.iter().skip(from).take(count).enumerate() {
                let at = match self.numbers.contains(&i) {
                    true => x + width - INSIDE - line.width,
                    false => x + INSIDE,
                };
                let part = part.filter(|_| read);
                flow.line(line, at, flow.y + ABOVE + k as f32 * STEP, SMALL, part);
            }
            x += width;
        }
    }
}

/// Widths of the columns: what their texts ask for where there is room, else by what they need least.
fn columns(letters: &Letters, table: &Table, room: f32) -> Vec<f32> {
    let count = if table.head.is_empty() { table.rows.first().map_or(0, Vec::len) } else { table.head.len() };
    let mut asked = vec![(0.0f32, 0.0f32); count];
    let mut take = |i: usize, face: Face, text: &str| {
        let (whole, widest) = widths(letters, &[(face, text)], SMALL);
        let asked = &mut asked[i];
        // A hair more, so that rounding breaks no word that was measured.
        *asked = (
            asked.0.max(whole.min(room) + 2.0 * INSIDE + 0.1),
            asked.1.max(widest.min(0.45 * room) + 2.0 * INSIDE + 0.1),
        );
    };
    table.head.iter().enumerate().for_each(|(i, name)| take(i, Face::Bold, name));
    for row in &table.rows {
        row.iter().take(count).enumerate().for_each(|(i, cell)| take(i, Face::of(cell.set), &cell.text));
    }
    let (whole, least) = asked.iter().fold((0.0, 0.0), |sum, a| (sum.0 + a.0, sum.1 + a.1));
    if whole <= room {
        // What is left goes to the last column of words.
        let last = (0..count).rev().find(|i| !table.numbers.contains(i)).unwrap_or(0);
        let more = |i: usize| if i == last { room - whole } else { 0.0 };
        return asked.iter().enumerate().map(|(i, a)| a.0 + more(i)).collect();
    }
    let width = |(natural, needed): &(f32, f32)| match least <= room {
        true => needed + (natural - needed) * (room - least) / (whole - least),
        false => needed * room / least,
    };
    asked.iter().map(width).collect()
}
