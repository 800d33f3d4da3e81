//! The pages of a site hang together, whatever the base holds.

use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;
use std::sync::Mutex;

use ruleout::load::{Disk, Files, Memory};

/// Every file of the site of a base.
fn site(files: &dyn Files) -> BTreeMap<String, Vec<u8>> {
    let linted = ruleout::lint(files).unwrap();
    let made = Mutex::new(BTreeMap::new());
    ruleout::site::make(files, &linted, &|address, bytes| {
        let twice = made.lock().unwrap().insert(address.to_owned(), bytes.to_vec());
        assert!(twice.is_none(), "two files at {address}");
        Ok(())
    })
    .unwrap();
    made.into_inner().unwrap()
}

fn demonstration() -> Disk {
    Disk::new(Path::new(env!("CARGO_MANIFEST_DIR")).join("kb"))
}

fn is_page(address: &str) -> bool {
    Path::new(address).extension().is_some_and(|ending| ending == "html")
}

/// The values of an attribute, entities read back.
fn attributes(html: &str, name: &str) -> Vec<String> {
    let start = format!(" {name}=\"");
    html.split(&start)
        .skip(1)
        .map(|rest| rest.split('"').next().unwrap_or("").replace("&amp;", "&").replace("&apos;", "'"))
        .collect()
}

/// The address that a relative one means on a page.
fn join(page: &str, to: &str) -> String {
    let mut parts: Vec<&str> = page.split('/').collect();
    parts.pop();
    for part in to.split('/') {
        match part {
            ".." => assert!(parts.pop().is_some(), "{page}: {to} leads out of the site"),
            part => parts.push(part),
        }
    }
    parts.join("/")
}

#[test]
fn every_link_leads_to_a_place_that_is_there() {
    let site = site(&demonstration());
    let pages: BTreeMap<&str, &str> = site
        .iter()
        .filter(|(address, _)| is_page(address))
        .map(|(address, bytes)| (address.as_str(), std::str::from_utf8(bytes).unwrap()))
        .collect();
    let ids: BTreeMap<&str, BTreeSet<String>> = pages
        .iter()
        .map(|(address, html)| {
            let all = attributes(html, "id");
            let set: BTreeSet<String> = all.iter().cloned().collect();
            assert_eq!(all.len(), set.len(), "{address}: one id twice");
            (*address, set)
        })
        .collect();
    for (address, html) in &pages {
        for to in attributes(html, "href").iter().chain(&attributes(html, "src")) {
            if to.starts_with("mailto:") || to.starts_with("https://") {
                continue;
            }
            assert!(!to.contains(':') && !to.starts_with('/'), "{address}: {to} is not relative");
            let (file, anchor) = to.split_once('#').unwrap_or((to, ""));
            let file = if file.is_empty() { (*address).to_owned() } else { join(address, file) };
            assert!(site.contains_key(&file), "{address}: {to} leads nowhere");
            if !anchor.is_empty() {
                assert!(ids[file.as_str()].contains(anchor), "{address}: {to} leads to no place of the page");
            }
        }
    }
}

#[test]
fn the_same_bytes_whatever_the_threads() {
    let one = rayon::ThreadPoolBuilder::new().num_threads(1).build().unwrap();
    let eight = rayon::ThreadPoolBuilder::new().num_threads(8).build().unwrap();
    assert!(one.install(|| site(&demonstration())) == eight.install(|| site(&demonstration())));
}

/// A base whose every text tries to break out of its place.
fn hostile() -> Memory {
    let evil = r#"</title></script><script>alert(1)</script><img src=x onerror=alert(1)>" onload="alert(1)"#;
    let quoted = evil.replace('\'', "''");
    let text = |template: &str| template.replace("EVIL", &format!("'{quoted}'"));
    [
        ("shop.yaml".to_owned(), text("title: EVIL\nfeedback: EVIL\n")),
        ("vehicles.yaml".to_owned(), text("van: {title: EVIL, groups: [all-vans]}\n")),
        ("codes.yaml".to_owned(), text("P0001: {title: EVIL, monitor: EVIL}\n")),
        ("equipment.yaml".to_owned(), text("meter: {title: EVIL}\n")),
        ("hazards.yaml".to_owned(), text("hot: {signal: danger, title: EVIL, text: EVIL}\n")),
        ("setups.yaml".to_owned(), text("up: {title: EVIL, undo: EVIL}\n")),
        ("terms.yaml".to_owned(), text("word: {title: EVIL, also: [EVIL], means: EVIL}\n")),
        (
            "specs/a.yaml".to_owned(),
            text("volts: {title: EVIL, quantity: dc voltage, at: EVIL, when: EVIL, source: EVIL, value: at least 9 V}\n"),
        ),
        ("systems/sys.md".to_owned(), format!("---\ntitle: x\n---\n{evil}\n\n[a](javascript:alert(1))\n")),
        (
            "procedures/p.md".to_owned(),
            text(
                "---\ncomplaint: EVIL\nalso: [EVIL]\ncodes: P0001\nsystem: sys\nhazards: [hot]\ncauses:\n  c:\n    \
                 title: EVIL\n    fix: mend\n    part: {name: EVIL, number: EVIL}\nsteps:\n  s:\n    measure: volts\n    \
                 with: [meter]\n    setup: [up]\n    undo: EVIL\n    record: [EVIL]\n    results:\n      - {if: in spec, \
                 refer: EVIL, note: EVIL}\n      - {if: below spec, shows: c}\n---\nHIDDEN\n\n## HIDDEN {#s}\n\nHIDDEN \
                 [x](javascript:alert(1)) [y](data:text/html,x) ![z](http://example.invalid/a.png)\n\n## Mend {#mend}\n\nHIDDEN\n",
            )
            .replace("HIDDEN", evil),
        ),
    ]
    .into_iter()
    .collect()
}

#[test]
fn nothing_an_author_writes_can_run() {
    let site = site(&hostile());
    assert!(site.contains_key("procedures/p.html"));
    let job = std::str::from_utf8(&site["jobs/p.js"]).unwrap();
    let data = job.strip_prefix("Ruleout.job.got(").and_then(|rest| rest.strip_suffix(");\n")).unwrap();
    serde_json::from_str::<serde_json::Value>(data).expect("what authors write stays data");
    for (address, bytes) in site.iter().filter(|(address, _)| is_page(address)) {
        let html = std::str::from_utf8(bytes).unwrap();
        let worked = address.starts_with("procedures/") && !address.ends_with("/index.html");
        assert_eq!(html.matches("<script").count(), if worked { 4 } else { 2 }, "{address}: scripts of ours only");
        assert!(!html.contains("<img"), "{address}");
        let tags = html.split('<').skip(1).map(|rest| rest.split('>').next().unwrap_or(""));
        for tag in tags {
            let mut outside = String::new();
            for (at, part) in tag.split('"').enumerate() {
                if at % 2 == 0 {
                    outside.push_str(part);
                }
            }
            assert!(!outside.contains("onerror") && !outside.contains("onload"), "{address}: <{tag}>");
        }
        for to in attributes(html, "href") {
            let scheme = to.split(':').next().unwrap_or("");
            assert!(!to.contains(':') || ["mailto", "https", "http", "tel"].contains(&scheme), "{address}: {to}");
        }
        let policy = attributes(html, "content").into_iter().find(|c| c.contains("script-src")).unwrap();
        assert!(policy.contains("script-src 'self';") && !policy.contains("unsafe"), "{policy}");
    }
}

#[test]
fn no_picture_can_run_or_fetch() {
    let drawing = "<svg xmlns=\"http://www.w3.org/2000/svg\" onload=\"alert(1)\"><title>Fan</title><script>alert(1)</script>\
                   <image href=\"https://example.invalid/a.png\"/><path d=\"M0 0h9\"/></svg>";
    let mut files = hostile();
    files.set("figures/fan.svg", drawing);
    files.set("figures/torn.svg", "<svg><script>alert(1)</script>");
    files.set("figures/page.html", "<script>alert(1)</script>");
    files.set("figures/photo.png", "not read at all");
    let site = site(&files);
    let pictures: Vec<&str> = site.keys().filter_map(|address| address.strip_prefix("figures/")).collect();
    assert_eq!(pictures, ["fan.svg", "photo.png", "torn.svg"]);
    let fan = std::str::from_utf8(&site["figures/fan.svg"]).unwrap();
    assert_eq!(fan, "<svg xmlns=\"http://www.w3.org/2000/svg\"><title>Fan</title><image/><path d=\"M0 0h9\"/></svg>\n");
    assert!(!std::str::from_utf8(&site["figures/torn.svg"]).unwrap().contains("script"));
    let linted = ruleout::lint(&files).unwrap();
    let place = |f: &ruleout::finding::Finding| linted.loaded.sources.file(f.span.file).path().to_owned();
    let told = linted.report.findings.iter().map(|f| format!("{} {}", place(f), f.rule));
    let told: Vec<String> =
        told.filter(|line| line.starts_with("figures/") && !line.ends_with(" unused-entry")).collect();
    assert_eq!(
        told,
        [
            "figures/fan.svg raw-html",
            "figures/fan.svg raw-html",
            "figures/fan.svg raw-html",
            "figures/torn.svg missing-figure"
        ]
    );
}

/// The least that a procedure needs.
const HUM: &str = "---\ncomplaint: It hums\ncauses: {a: {title: Fan, fix: b}}\nsteps:\n  s:\n    observe: The fan\n    results: \
                   [{if: loud, shows: a}, {if: quiet, refer: the maker}]\n---\n## Listen {#s}\n\nListen.\n\n## Renew it {#b}\n\n\
                   Renew it.\n";

#[test]
fn a_base_without_vehicles_has_a_site() {
    let files = Memory::from_iter([("procedures/p.md", HUM)]);
    let site = site(&files);
    let page = std::str::from_utf8(&site["procedures/p.html"]).unwrap();
    for wanted in ["It hums", "The fan", "loud", "This is the fault:", "the maker", "Renew it."] {
        assert!(page.contains(wanted), "{wanted}");
    }
    assert!(!page.contains("data-for"), "there is one nameless vehicle");
}

#[test]
fn cautions_stand_before_the_instructions() {
    let site = site(&demonstration());
    let mut seen = 0;
    for (address, bytes) in site.iter().filter(|(address, _)| address.starts_with("procedures/")) {
        let html = std::str::from_utf8(bytes).unwrap();
        for step in html.split("<article class=\"step\"").skip(1) {
            let step = step.split("</article>").next().unwrap_or("");
            if let Some(caution) = step.find("class=\"cautions\"") {
                seen += 1;
                let how = step.find("class=\"step-how\"").unwrap();
                assert!(caution < how, "{address}");
                assert!(["DANGER", "WARNING", "CAUTION", "NOTICE"].iter().any(|w| step[caution..how].contains(w)));
            }
        }
    }
    assert!(seen > 20, "{seen}");
}

#[test]
fn the_state_of_the_base_covers_its_pictures() {
    let base = |photo: &[u8]| {
        let mut base = Memory::from_iter([("procedures/hum.md", HUM)]);
        base.set("figures/lamp.png", photo.to_vec());
        base
    };
    let about = |photo: &[u8]| site(&base(photo)).remove("about.html").unwrap();
    assert!(about(b"one photo") == about(b"one photo"));
    assert!(about(b"one photo") != about(b"another"), "another picture, and the pages name the same state");
}

/// A step's words are a piece of their file: a link in them may be defined under another heading.
#[test]
fn a_link_by_reference_leads_on_from_any_section() {
    let text = "---\ncomplaint: Dark\ncauses:\n  bulb: {title: Bulb, fix: renew}\nsteps:\n  look:\n    observe: Bulb\n    minutes: 1\n    \
                results:\n      - {if: dark, shows: bulb}\n      - {if: clear, clears: [bulb], normal: Fine}\n---\n[in]: #look\n\n\
                See [the step][in].\n\n## Look {#look}\n\nAs under [renew][r] and [here][in].\n\n## Renew {#renew}\n\n```\nx\n```\n\n\
                [r]: #renew \"t\"\n";
    let base = Memory::from_iter([("procedures/dark.md", text)]);
    let html = String::from_utf8(site(&base)["procedures/dark.html"].clone()).unwrap();
    for link in ["#renew\" title=\"t\">renew</a>", "#look\">here</a>", "#look\">the step</a>"] {
        assert!(html.contains(link), "{link} in {html}");
    }
    assert!(!html.contains("[r]:") && !html.contains("[in]:"), "{html}");
}

/// The page of a procedure in a base whose shop has these rules.
fn lamp(rules: &str, procedure: &str) -> String {
    let mut base = Memory::default();
    base.set("shop.yaml", format!("title: Depot\n{rules}"));
    base.set("procedures/lamp.md", procedure);
    String::from_utf8(site(&base).remove("procedures/lamp.html").unwrap()).unwrap()
}

/// A test that tells nothing more is named alone.
#[test]
fn the_plan_tells_a_step_that_is_not_always_needed() {
    let page = lamp(
        "",
        "---
complaint: Lamp stays lit
causes:
  belt: {title: Belt loose, share: 50}
  brushes: {title: Brushes worn, share: 50}
steps:
  look:
    observe: Belt
    minutes: 2
    results:
      - {if: loose, shows: belt}
      - {if: tight, clears: [belt], then: strip}
  strip:
    observe: Brushes
    minutes: 40
    results:
      - {if: worn, shows: brushes}
      - {if: long enough, clears: [brushes], refer: Nothing found}
---
",
    );
    let says = "By the odds: <a href=\"#strip\">Brushes</a> only when it is needed saves 20.0 minutes on average. Odds prove nothing.";
    assert!(page.contains(says), "{page}");
}

/// A cause and its repair may have one name: one place on the page has it, the repair's heading.
#[test]
fn a_cause_and_a_repair_of_one_name_are_one_place() {
    let page = lamp(
        "",
        "---
complaint: Lamp stays lit
causes:
  belt: {title: Belt loose, fix: belt}
  brushes: {title: Brushes worn, fix: renew}
steps:
  look:
    observe: Belt
    results:
      - {if: loose, shows: belt}
      - {if: tight, clears: [belt], found: brushes}
---
## Tighten the belt {#belt}

With the engine stopped and the key out.

## Renew the brushes {#renew}

With the battery off.
",
    );
    assert_eq!(page.matches("id=\"belt\"").count(), 1, "{page}");
    assert!(page.contains("<h3 id=\"belt\" tabindex=\"-1\">Tighten the belt</h3>"), "{page}");
    assert!(page.contains("<tr id=\"brushes\">"), "{page}");
}

/// The plan says what comes first as written, and the first step to move where lint knows a faster order; never where that rule is off.
#[test]
fn the_plan_tells_the_written_order_and_a_faster_one() {
    let page = |rules: &str| {
        lamp(
            rules,
            "---
complaint: Lamp stays lit
causes:
  belt: {title: Belt loose, share: 80}
  brushes: {title: Brushes worn, share: 10}
  cable: {title: Cable corroded, share: 10}
steps:
  strip:
    observe: Brushes
    minutes: 40
    results:
      - {if: worn, shows: brushes}
      - {if: long enough, clears: [brushes], then: look}
  look:
    observe: Belt
    minutes: 2.5
    results:
      - {if: loose, shows: belt}
      - {if: tight, clears: [belt], found: cable}
---
",
        )
    };
    let plan = page("");
    let order = "<li><a href=\"#strip\">Brushes</a> <span class=\"more\">40 min</span></li>\n<li><a href=\"#look\">Belt</a> <span class=\"more\">2.5 min</span></li>\n</ol>";
    assert!(plan.contains(order), "{plan}");
    let faster = "By the odds: <a href=\"#look\">Belt</a> before <a href=\"#strip\">Brushes</a> saves 31.8 minutes on average. Odds prove nothing.";
    assert!(plan.contains(faster), "{plan}");
    let off = page("rules: {slow-order: off}\n");
    assert!(off.contains(order) && !off.contains("By the odds"), "{off}");
}

/// A limit of 0.20 V asks for more of a meter than one of 0.2 V.
#[test]
fn a_limit_keeps_the_digits_that_its_author_gave_it() {
    let procedure = "---\ncomplaint: Lamp dim\ncauses: {wire: {title: Wire}, earth: {title: Earth}}\nsteps:\n  drop:\n    measure: drop\n    \
                     results:\n      - {if: in spec, clears: [wire], found: earth}\n      - {if: at least 1.50 V, shows: wire}\n      \
                     - {if: any other reading, unproven: The meter}\n---\n";
    let base: Memory = [
        ("shop.yaml", "title: Depot\nunits: {dc voltage: mV}\n"),
        ("specs/lamp.yaml", "drop: {title: Drop, quantity: dc voltage, source: Invented, value: at most 0.20 V}\n"),
        ("procedures/lamp.md", procedure),
    ]
    .into_iter()
    .collect();
    let site = site(&base);
    let page = String::from_utf8_lossy(&site["procedures/lamp.html"]).into_owned();
    let job = String::from_utf8_lossy(&site["jobs/lamp.js"]).into_owned();
    for said in ["at most 0.20 V", "above 0.20 V to below 1.50 V", "at least 1.50 V"] {
        assert!(page.contains(said) && job.contains(said), "{said}\n{page}\n{job}");
    }
    // In another unit nobody wrote it: as short as it is exact.
    assert!(page.contains("at most 200 mV") && job.contains("(at least 1500 mV)"), "{page}\n{job}");
}
