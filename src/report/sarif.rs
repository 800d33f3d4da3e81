//! Findings as SARIF 2.1.0 (OASIS), built with the types of `serde-sarif`.
//!
//! In: findings and sources. Out: one log with one run: every rule with its page as help, every finding (notes too) with its other
//! places, the proof as a code flow, the mend as a fix, and a partial fingerprint that holds no line.

use std::collections::BTreeMap;

use serde_json::{Value, json};
use serde_sarif::sarif::{
    ArtifactChange, ArtifactContent, ArtifactLocation, CodeFlow, Fix, Location, LogicalLocation, Message,
    MultiformatMessageString, PhysicalLocation, PropertyBag, Region, Replacement, ReportingConfiguration,
    ReportingDescriptor, Result as SarifResult, ResultLevel, Run, Sarif, ThreadFlow, ThreadFlowLocation, Tool,
    ToolComponent,
};

use super::fingerprint::{Fingerprint, counted};
use crate::check::{RULES, Rule};
use crate::finding::{Finding, Level, Mend, Report};
use crate::source::{FileId, Sources, Span};

/// Where the schema stands, as OASIS publishes it.
const SCHEMA: &str = "https://docs.oasis-open.org/sarif/sarif/v2.1.0/os/schemas/sarif-schema-2.1.0.json";

/// The whole run; `prefix` leads from the working folder to the knowledge base.
pub fn render(report: &Report, sources: &Sources, prefix: &str) -> String {
    let prints = counted(&report.findings, sources);
    let results: Vec<SarifResult> =
        report.findings.iter().zip(&prints).map(|(f, print)| Drawn { sources, prefix }.result(f, print)).collect();
    let driver = ToolComponent::builder()
        .name("ruleout")
        .version(env!("CARGO_PKG_VERSION"))
        .rules(RULES.iter().copied().map(descriptor).collect::<Vec<_>>())
        .build();
    let run = Run::builder()
        .tool(Tool::builder().driver(driver).build())
        .column_kind(json!("unicodeCodePoints"))
        .results(results)
        .build();
    let log = Sarif::builder().schema(SCHEMA).version(json!("2.1.0")).runs(vec![run]).build();
    // Plain data with text keys: this always succeeds.
    let value = serde_json::to_value(&log).unwrap_or(Value::Null);
    format!("{value:#}\n")
}

fn descriptor(rule: &'static Rule) -> ReportingDescriptor {
    let body = rule.page.split_once('\n').map_or("", |(_, rest)| rest).trim();
    let first = body.split("\n\n").next().unwrap_or(rule.summary).replace('\n', " ");
    let level = rule.levels.first().copied().map_or("none", level_name);
    ReportingDescriptor::builder()
        .id(rule.name)
        .short_description(words(rule.summary))
        .full_description(words(&first))
        .help(MultiformatMessageString::builder().text(body).markdown(body).build())
        .default_configuration(ReportingConfiguration::builder().level(json!(level)).build())
        .properties(bag(json!({"family": format!("{:?}", rule.family).to_lowercase()})))
        .build()
}

/// SARIF's word for a level.
fn level_name(level: Level) -> &'static str {
    match level {
        Level::Off => "none",
        Level::Note => "note",
        Level::Warning => "warning",
        Level::Error => "error",
    }
}

fn words(text: &str) -> MultiformatMessageString {
    MultiformatMessageString::builder().text(text).build()
}

fn message(text: impl Into<String>) -> Message {
    Message::builder().text(text).build()
}

/// A bag of properties from a JSON object.
fn bag(value: Value) -> PropertyBag {
    let map = if let Value::Object(map) = value { map } else { serde_json::Map::new() };
    PropertyBag::builder().additional_properties(map.into_iter().collect::<BTreeMap<String, Value>>()).build()
}

struct Drawn<'a> {
    sources: &'a Sources,
    prefix: &'a str,
}

impl Drawn<'_> {
    fn result(&self, finding: &Finding, (print, before): &(Fingerprint, usize)) -> SarifResult {
        let level = match finding.level {
            Level::Error => ResultLevel::Error,
            Level::Warning => ResultLevel::Warning,
            Level::Note => ResultLevel::Note,
            Level::Off => ResultLevel::None,
        };
        let help = finding.help.iter().map(|h| format!("Help: {h}"));
        let told: Vec<String> =
            std::iter::once(finding.message.clone()).chain(finding.facts.iter().cloned()).chain(help).collect();
        let fingerprints: BTreeMap<String, String> =
            [("ruleout/v1".to_owned(), format!("{}:{before}", print.digest()))].into();
        let index = RULES.iter().position(|r| r.name == finding.rule);
        let mut result = SarifResult::builder()
            .rule_id(finding.rule)
            .level(level)
            .message(message(told.join("\n")))
            .locations(vec![self.primary(finding)])
            .partial_fingerprints(fingerprints)
            .build();
        result.rule_index = index.and_then(|i| i64::try_from(i).ok());
        result.related_locations = filled(self.related(finding));
        result.code_flows = filled(self.flow(finding).into_iter().collect());
        result.fixes = filled(finding.mend.iter().map(|m| self.fix(m)).collect());
        result.properties = properties(finding);
        result
    }

    fn primary(&self, finding: &Finding) -> Location {
        let parts: Vec<&str> = [&finding.procedure, &finding.step].into_iter().flatten().map(String::as_str).collect();
        let mut location = Location::builder().physical_location(self.place(finding.span)).build();
        if let Some(name) = parts.last() {
            let kind = if parts.len() == 2 { "step" } else { "procedure" };
            let logical =
                LogicalLocation::builder().name(*name).fully_qualified_name(parts.join("/")).kind(kind).build();
            location.logical_locations = Some(vec![logical]);
        }
        location
    }

    fn related(&self, finding: &Finding) -> Vec<Location> {
        (1..)
            .zip(&finding.labels)
            .map(|(id, label)| {
                let place = self.place(label.span);
                Location::builder().id(id).physical_location(place).message(message(&label.message)).build()
            })
            .collect()
    }

    /// The proof: each step of the shortest way, with the result taken there.
    fn flow(&self, finding: &Finding) -> Option<CodeFlow> {
        let locations: Vec<ThreadFlowLocation> = finding
            .path
            .iter()
            .map(|step| {
                let said = step.result.as_ref().map_or_else(|| step.step.clone(), |r| format!("{}: {r}", step.step));
                let place = self.place(step.span);
                let location = Location::builder().physical_location(place).message(message(said)).build();
                ThreadFlowLocation::builder().location(location).build()
            })
            .collect();
        (!locations.is_empty()).then(|| {
            let told = message("the shortest way there");
            let flow = ThreadFlow::builder().locations(locations).build();
            CodeFlow::builder().thread_flows(vec![flow]).message(told).build()
        })
    }

    fn fix(&self, mend: &Mend) -> Fix {
        let mut files: BTreeMap<FileId, Vec<Replacement>> = BTreeMap::new();
        for edit in &mend.edits {
            let content = ArtifactContent::builder().text(&edit.text).build();
            let replacement =
                Replacement::builder().deleted_region(self.region(edit.span)).inserted_content(content).build();
            files.entry(edit.span.file).or_default().push(replacement);
        }
        let changes: Vec<ArtifactChange> = files
            .into_iter()
            .map(|(file, replacements)| {
                ArtifactChange::builder().artifact_location(self.artifact(file)).replacements(replacements).build()
            })
            .collect();
        Fix::builder()
            .artifact_changes(changes)
            .description(message(&mend.title))
            .properties(bag(json!({"safe": mend.safe})))
            .build()
    }

    fn place(&self, span: Span) -> PhysicalLocation {
        PhysicalLocation::builder().artifact_location(self.artifact(span.file)).region(self.region(span)).build()
    }

    fn artifact(&self, file: FileId) -> ArtifactLocation {
        ArtifactLocation::builder().uri(uri(&format!("{}{}", self.prefix, self.sources.file(file).path()))).build()
    }

    fn region(&self, span: Span) -> Region {
        let file = self.sources.file(span.file);
        let (from, to) = (file.position(span.start), file.position(span.end));
        let count = |n: usize| i64::try_from(n).unwrap_or(i64::MAX);
        Region::builder()
            .start_line(count(from.line))
            .start_column(count(from.column))
            .end_line(count(to.line))
            .end_column(count(to.column))
            .build()
    }
}

fn properties(finding: &Finding) -> Option<PropertyBag> {
    let mut map = serde_json::Map::new();
    for (key, value) in [("procedure", &finding.procedure), ("step", &finding.step), ("cause", &finding.cause)] {
        if let Some(value) = value {
            map.insert(key.into(), json!(value));
        }
    }
    for (key, list) in [("vehicles", &finding.vehicles), ("readings", &finding.readings)] {
        if !list.is_empty() {
            map.insert(key.into(), json!(list));
        }
    }
    (!map.is_empty()).then(|| bag(Value::Object(map)))
}

fn filled<T>(list: Vec<T>) -> Option<Vec<T>> {
    (!list.is_empty()).then_some(list)
}

/// A path as a URI reference (RFC 3986): all but unreserved characters and `/` percent-encoded; an absolute one as `file:`.
fn uri(path: &str) -> String {
    let mut text = if path.starts_with('/') { "file://".to_owned() } else { String::new() };
    for byte in path.bytes() {
        match byte {
            b'A'..=b'Z' | b'a'..=b'z' | b'0'..=b'9' | b'-' | b'.' | b'_' | b'~' | b'/' => text.push(char::from(byte)),
            _ => text.push_str(&format!("%{byte:02X}")),
        }
    }
    text
}

#[cfg(test)]
mod tests {
    use super::uri;

    #[test]
    fn paths_become_uris() {
        assert_eq!(uri("../kb/procedures/a b#ü.md"), "../kb/procedures/a%20b%23%C3%BC.md");
        assert_eq!(uri("/srv/kb/shop.yaml"), "file:///srv/kb/shop.yaml");
    }
}
