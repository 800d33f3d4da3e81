//! In: `figure` of steps and checks, pictures in the words, drawings. Out: a finding per picture that is not under `figures/`, or none.
#![doc = include_str!("missing_figure.md")]

use crate::check::drawings;
use crate::check::pages::{pages, path_from};
use crate::check::{Family, Rule, Run, Whole};
use crate::finding::{Finding, Level};
use crate::load::is_picture;
use crate::parse::near::nearest;
use crate::source::{Span, Spanned};

/// The rule.
pub static RULE: Rule = Rule {
    name: "missing-figure",
    family: Family::Pages,
    levels: &[Level::Error],
    summary: "A picture that is not under figures/",
    page: include_str!("missing_figure.md"),
    run: Run::Whole(check),
};

fn check(whole: &Whole<'_>, out: &mut Vec<Finding>) {
    for digest in whole.digests {
        for figure in digest.figures.iter().filter(|f| f.span.file == digest.file) {
            if let Some(finding) = judge(whole, figure) {
                let step = digest.step_at(figure.span);
                let finding = finding.in_procedure(&digest.id);
                out.push(if let Some(step) = step { finding.at_step(step) } else { finding });
            }
        }
    }
    let checks = whole.base.checks.iter().filter_map(|(_, _, c)| c.shared.figure.as_ref());
    out.extend(checks.filter_map(|figure| judge(whole, figure)));
    for page in pages(whole) {
        for picture in page.links.iter().filter(|l| l.is_image) {
            let path = path_from(whole.sources.file(page.file).path(), &picture.to.value);
            let name = path.as_deref().and_then(|p| p.strip_prefix("figures/"));
            if name.is_some_and(|n| whole.base.figures.find(n).is_some() || whole.base.broken.contains("figures")) {
                continue;
            }
            let message = match name {
                Some(name) => format!("there is no picture `{name}` under `figures/`"),
                None => format!("expected a picture under `figures/`, found `{}`", picture.to.value),
            };
            let finding = Finding::new(RULE.name, Level::Error, picture.to.span, message)
                .help("put the picture there, or mend its name: from here it begins with the way to `figures/`");
            out.push(page.name(finding));
        }
    }
    drawings::told(whole, true, no_drawing, out);
}

fn no_drawing(span: Span, what: &str) -> Finding {
    Finding::new(RULE.name, Level::Error, span, format!("expected a drawing, found {what}"))
        .help("save it again as plain SVG")
}

fn judge(whole: &Whole<'_>, figure: &Spanned<String>) -> Option<Finding> {
    let name = figure.value.as_str();
    if whole.base.figures.find(name).is_some() || whole.base.broken.contains("figures") {
        return None;
    }
    let path = format!("figures/{name}");
    if whole.sources.find(&path).is_some() {
        // A picture by its name that is none of the base's could not be read, and is told already.
        if is_picture(name) {
            return None;
        }
        let finding = Finding::new(RULE.name, Level::Error, figure.span, format!("`{name}` is not a picture"));
        return Some(finding.help("save it as SVG, PNG, JPEG, WebP, GIF or AVIF: a page shows nothing else"));
    }
    let finding =
        Finding::new(RULE.name, Level::Error, figure.span, format!("there is no picture `{name}` under `figures/`"));
    let bare = name.trim_start_matches("../").trim_start_matches("figures/");
    let figures = &whole.base.figures;
    if figures.find(bare).is_some() {
        let finding = finding.help(format!("write `{bare}`: the folder is understood"));
        return Some(finding.respell(format!("write `{bare}`"), figure.span, bare));
    }
    Some(match nearest_stem(name, figures.ids()) {
        Some(near) => finding.help(format!("did you mean `{near}`?")),
        None => finding.help("put the picture there, or mend its name"),
    })
}

/// The nearest name, the ending left aside: `.svg` is no likeness.
fn nearest_stem<'a>(name: &str, there: impl Iterator<Item = &'a str>) -> Option<&'a str> {
    let stems: Vec<(&str, &str)> = there.map(|n| (n.rsplit_once('.').map_or(n, |(stem, _)| stem), n)).collect();
    let own = name.rsplit_once('.').map_or(name, |(stem, _)| stem);
    let near = nearest(own, stems.iter().map(|(stem, _)| *stem))?;
    stems.into_iter().find(|(stem, _)| *stem == near).map(|(_, name)| name)
}
