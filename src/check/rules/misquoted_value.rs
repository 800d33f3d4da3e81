//! In: the links of all pages to a spec (`[30 N·m](spec:wheel-nut-torque)`). Out: a finding per quotation that means other
//! readings than the table.
#![doc = include_str!("misquoted_value.md")]

use crate::check::pages::{Page, pages};
use crate::check::{Family, Rule, Run, Whole};
use crate::finding::{Finding, Level};
use crate::model::{Band, Spec, VehicleIx};
use crate::parse::markdown::Link;
use crate::parse::phrase;
use crate::quantity::{Domain, Phrase, limit_set};
use crate::source::Span;

/// The rule.
pub static RULE: Rule = Rule {
    name: "misquoted-value",
    family: Family::Values,
    levels: &[Level::Error],
    summary: "A value in the words is not the value in the tables",
    page: include_str!("misquoted_value.md"),
    run: Run::Whole(check),
};

fn check(whole: &Whole<'_>, out: &mut Vec<Finding>) {
    for page in pages(whole) {
        for link in page.links.iter().filter(|l| !l.is_image && !l.text.trim().is_empty()) {
            let Some(name) = link.to.value.strip_prefix("spec:") else { continue };
            let Some(spec) = whole.base.specs.get(name) else { continue };
            if let Some(finding) = judge(whole, &page, link, name, spec) {
                out.push(page.name(finding));
            }
        }
    }
}

fn judge(whole: &Whole<'_>, page: &Page<'_>, link: &Link, id: &str, spec: &Spec) -> Option<Finding> {
    let (name, reading) = quoted(spec, &link.text);
    let bands: Vec<(VehicleIx, &Band)> =
        page.vehicles.iter().filter_map(|v| Some((v, spec.bands(v)?.iter().find(|b| b.name == name)?))).collect();
    let quantity = spec.quantity.value;
    // In the words an amount alone is that amount: `tighten to [30 N·m](spec:wheel-nut-torque)`.
    let alone = || phrase::parse_spec_range(&format!("exactly {reading}"), quantity);
    let parsed = phrase::parse_spec_range(reading, quantity).or_else(|problem| alone().map_err(|_| problem));
    let domain = Domain::new(quantity, spec.names_negative || parsed.as_ref().is_ok_and(names_negative));
    let wrong: Vec<&(VehicleIx, &Band)> = match &parsed {
        Ok(said) => {
            let said = limit_set(said, &domain);
            // each line of the table once, however many vehicles read it
            let mut lines: Vec<&Band> = bands.iter().map(|(_, band)| *band).collect();
            lines.dedup_by(|a, b| std::ptr::eq(*a, *b));
            lines.retain(|band| limit_set(&band.phrase, &domain) != said);
            let differs = |band: &Band| lines.iter().any(|line| std::ptr::eq(*line, band));
            bands.iter().filter(|(_, band)| differs(band)).collect()
        }
        Err(_) => bands.iter().collect(),
    };
    let (_, first) = wrong.first()?;
    let same = bands.iter().all(|(_, b)| limit_set(&b.phrase, &domain) == limit_set(&first.phrase, &domain));
    let vehicles = wrong.iter().map(|(v, _)| whole.base.vehicles.id(*v));
    let span = brackets(whole, link);
    let mut finding = Finding::new(
        RULE.name,
        Level::Error,
        span,
        format!("expected `{}` as in spec `{id}`, found `{}`", first.text.value, link.text.trim()),
    )
    .label(first.text.span, "the value in the table")
    .on_vehicles(vehicles);
    if let Err(problem) = &parsed {
        finding = finding.fact(problem.message.clone());
    }
    if !same {
        return Some(finding.help(format!("write `[](spec:{id})`: each vehicle's own value is filled in")));
    }
    let text = if name == "in spec" { first.text.value.clone() } else { format!("{name}: {}", first.text.value) };
    Some(
        finding
            .help(format!(
                "write `{text}`{}",
                if name == "in spec" { ", or leave the brackets empty: the value is filled in" } else { "" }
            ))
            .mend("write the value of the table", span, text),
    )
}

/// `weak: 11.8 to 12.4 V` quotes the band `weak`; without a name it is `in spec`.
fn quoted<'a>(spec: &Spec, text: &'a str) -> (&'a str, &'a str) {
    let text = text.trim();
    match text.split_once(':') {
        Some((name, reading)) if spec.band_names().contains(&name.trim()) => (name.trim(), reading.trim()),
        _ => ("in spec", text),
    }
}

fn names_negative(phrase: &Phrase) -> bool {
    phrase.ends().any(|end| end.amount.value < crate::quantity::number::ratio(0, 1))
}

/// What stands between the brackets.
fn brackets(whole: &Whole<'_>, link: &Link) -> Span {
    let source = whole.sources.text(link.span);
    match source.rfind("](").or_else(|| source.rfind("][")) {
        Some(end) if source.starts_with('[') => link.span.part(1, end),
        _ => link.span,
    }
}
