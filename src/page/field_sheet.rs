//! Field-strength sheets: those of a case, and one by itself.

use crate::{
    case::{Event, Sheet},
    page::{
        Form, Past,
        document::{Document, Run, signed, words},
        html,
    },
    report::{field_comparison, field_facts, field_headline, field_missing, field_statement},
};

/// What stands across a sheet without a certificate.
const STAMP: &str = "INDICATIVE";

/// The sheets of a case, in their order.
pub fn of_case(case: &Past, form: Form, out: &mut Document) {
    for entry in case.entries {
        let Event::Measured(measured) = &entry.event else { continue };
        out.heading("Field strength");
        sheet(&measured.sheet, form, out);
        let kept = &measured.kept;
        out.paragraph(&format!(
            "Entry {}, by {}; from {}, figures in results/{}.",
            entry.entry,
            entry.by,
            kept.read.join(", "),
            kept.result
        ));
    }
}

/// A sheet by itself, as a page to print.
pub fn field_page(measured: &Sheet) -> String {
    let mut out = Document::new("Field-strength sheet", "full form");
    sheet(measured, Form::Full, &mut out);
    html::page(&out)
}

fn sheet(sheet: &Sheet, form: Form, out: &mut Document) {
    let indicative = !sheet.indicative.is_empty();
    if indicative {
        out.stamp(STAMP);
        out.paragraph(&format!("Indicative, no calibrated measurement: {}.", sheet.indicative.join("; ")));
    }
    out.notice(&field_headline(sheet));
    if let Some(c) = &sheet.comparison {
        out.paragraph(&field_comparison(c));
    }
    out.list(&sheet.warnings.iter().map(|w| format!("Caution: {w}")).collect::<Vec<_>>());
    let shared =
        |name: &str| form == Form::Shared && matches!(name, "Site" | "Certificate of its calibration");
    let rows: Vec<Vec<Run>> = field_facts(sheet)
        .into_iter()
        .filter(|(name, _)| !shared(name))
        .map(|(name, what)| vec![words(name), words(what)])
        .collect();
    out.named(rows);
    if let Some(e) = &sheet.elsewhere {
        out.paragraph(
            &signed(&format!(
                "At {} m, where nobody measured: {:.1} dBµV/m if {}. U does not hold what that assumption may be wrong by.",
                e.distance_m, e.field_dbuv_m, e.assumption
            )),
        );
    }
    budget(sheet, out);
    out.paragraph(&field_statement(sheet));
    if indicative {
        out.stamp(STAMP);
    }
}

fn budget(sheet: &Sheet, out: &mut Document) {
    let number = |v: f64| signed(&format!("{v:.2}"));
    let freedom = |f: Option<f64>| f.map_or("∞".to_owned(), |n| format!("{:.0}", n.floor()));
    let mut rows: Vec<Vec<Run>> = sheet
        .budget
        .iter()
        .map(|l| {
            vec![
                words(&l.input),
                words(signed(&l.estimate)),
                words(l.evaluation.to_string()),
                words(&l.distribution),
                words(number(l.stated_db)),
                words(number(l.divisor)),
                words(l.sensitivity.to_string()),
                words(number(l.contribution_db)),
                words(freedom(l.freedom)),
            ]
        })
        .collect();
    if let Some(u) = sheet.standard_db {
        let mut row = vec![words("combined")];
        row.extend((0..6).map(|_| words("")));
        row.extend([words(number(u)), words(freedom(sheet.freedom))]);
        rows.push(row);
    }
    let head =
        ["input", "estimate", "type", "distribution", "stated, dB", "divisor", "sensitivity", "u, dB", "ν"];
    out.table(&head, &[1, 4, 5, 6, 7, 8], rows);
    if !sheet.missing.is_empty() {
        out.paragraph(&field_missing(sheet));
    }
}
