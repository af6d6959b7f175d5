//! Field-strength sheets: those of a case, and one by itself.

use crate::{
    case::{Event, Sheet},
    page::{
        Form, Past,
        html::{escaped, heading, list, paragraph, signed, table},
    },
    report::{field_comparison, field_facts, field_headline, field_missing, field_statement},
};

/// The sheets of a case, in their order.
pub fn of_case(case: &Past, form: Form, out: &mut String) {
    for entry in case.entries {
        let Event::Measured(measured) = &entry.event else { continue };
        heading(out, "Field strength");
        sheet(&measured.sheet, form, out);
        let kept = &measured.kept;
        paragraph(
            out,
            &format!(
                "Entry {}, by {}; from {}, figures in results/{}.",
                entry.entry,
                entry.by,
                kept.read.join(", "),
                kept.result
            ),
        );
    }
}

/// A sheet by itself, as a page to print.
pub fn field_page(measured: &Sheet) -> String {
    let mut out = super::head("Field-strength sheet");
    sheet(measured, Form::Full, &mut out);
    out += super::FOOT;
    out
}

fn sheet(sheet: &Sheet, form: Form, out: &mut String) {
    let indicative = !sheet.indicative.is_empty();
    *out += if indicative { "<div class=\"i\">\n" } else { "<div>\n" };
    if indicative {
        let told = format!("INDICATIVE, no calibrated measurement: {}.", sheet.indicative.join("; "));
        *out += &format!("<p><strong>{}</strong></p>\n", escaped(&told));
    }
    *out += &format!("<p class=\"first\">{}</p>\n", escaped(&field_headline(sheet)));
    if let Some(c) = &sheet.comparison {
        paragraph(out, &field_comparison(c));
    }
    list(out, &sheet.warnings.iter().map(|w| format!("Caution: {w}")).collect::<Vec<_>>());
    let shared =
        |name: &str| form == Form::Shared && matches!(name, "Site" | "Certificate of its calibration");
    let rows: Vec<Vec<String>> = field_facts(sheet)
        .into_iter()
        .filter(|(name, _)| !shared(name))
        .map(|(name, what)| vec![escaped(name), escaped(&what)])
        .collect();
    table(out, &["", ""], &[], &rows);
    if let Some(e) = &sheet.elsewhere {
        paragraph(
            out,
            &signed(&format!(
                "At {} m, where nobody measured: {:.1} dBµV/m if {}. U does not hold what that assumption may be wrong by.",
                e.distance_m, e.field_dbuv_m, e.assumption
            )),
        );
    }
    budget(sheet, out);
    paragraph(out, &field_statement(sheet));
    *out += "</div>\n";
}

fn budget(sheet: &Sheet, out: &mut String) {
    let number = |v: f64| signed(&format!("{v:.2}"));
    let freedom = |f: Option<f64>| f.map_or("∞".to_owned(), |n| format!("{:.0}", n.floor()));
    let mut rows: Vec<Vec<String>> = sheet
        .budget
        .iter()
        .map(|l| {
            vec![
                escaped(&l.input),
                escaped(&signed(&l.estimate)),
                l.evaluation.to_string(),
                escaped(&l.distribution),
                number(l.stated_db),
                number(l.divisor),
                l.sensitivity.to_string(),
                number(l.contribution_db),
                freedom(l.freedom),
            ]
        })
        .collect();
    if let Some(u) = sheet.standard_db {
        let blank = String::new;
        rows.push(vec![
            "combined".to_owned(),
            blank(),
            blank(),
            blank(),
            blank(),
            blank(),
            blank(),
            number(u),
            freedom(sheet.freedom),
        ]);
    }
    let head =
        ["input", "estimate", "type", "distribution", "stated, dB", "divisor", "sensitivity", "u, dB", "ν"];
    table(out, &head, &[1, 4, 5, 6, 7, 8], &rows);
    if !sheet.missing.is_empty() {
        paragraph(out, &field_missing(sheet));
    }
}
