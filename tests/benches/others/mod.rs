//! Two well-known tools at the same files: Hugo makes pages of them, markdownlint-cli2 checks their Markdown.
//!
//! In: a base in a folder. Out: a command for each tool, ready to run.

mod plain;

use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

use walkdir::WalkDir;

const MARKDOWNLINT: &str = "markdownlint-cli2@0.22.1";

/// What Hugo needs to make pages, and no more: no lists of tags, no feeds, no map of the site.
const HUGO: &[(&str, &str)] = &[
    (
        "hugo.toml",
        "baseURL = \"/\"\ntitle = \"Harrow Vale depot\"\ndisableKinds = [\"taxonomy\", \"term\", \"RSS\", \"sitemap\"]\n",
    ),
    (
        "layouts/_default/single.html",
        "<!doctype html>\n<html lang=\"en\"><head><meta charset=\"utf-8\"><title>{{ .Title }}</title></head>\n<body><h1>{{ .Title }}</h1>\n{{ .Content }}</body></html>\n",
    ),
    (
        "layouts/_default/list.html",
        "<!doctype html>\n<html lang=\"en\"><head><meta charset=\"utf-8\"><title>{{ .Title }}</title></head>\n<body><ul>{{ range .Pages }}<li><a href=\"{{ .RelPermalink }}\">{{ .Title }}</a></li>{{ end }}</ul></body></html>\n",
    ),
];

/// The base's own Markdown, each file's title before it, in a folder that Hugo can take: what the authors wrote as prose, nothing else.
pub fn write_prose(kb: &Path, to: &Path) {
    start(to);
    for (path, text) in texts(kb, "md") {
        let (front, body) = text.strip_prefix("---\n").and_then(|t| t.split_once("\n---\n")).unwrap_or(("", &text));
        let title = front.lines().find_map(|l| l.strip_prefix("complaint: ").or(l.strip_prefix("title: ")));
        page(to, &path, title.unwrap_or("Untitled").trim_matches('"'), body);
    }
}

/// The site's pages as plain Markdown.
pub fn write_pages(site: &Path, to: &Path) {
    start(to);
    for (path, html) in texts(site, "html") {
        let (title, body) = plain::plain(&html);
        page(to, &path.with_extension("md"), &title, &body);
    }
}

fn start(to: &Path) {
    for (path, text) in HUGO {
        put(&to.join(path), text);
    }
}

/// The files with this ending in the folders of a folder.
fn texts(folder: &Path, ending: &str) -> impl Iterator<Item = (PathBuf, String)> {
    let files = WalkDir::new(folder).min_depth(2).sort_by_file_name().into_iter().map(Result::unwrap);
    files.filter(move |f| f.path().extension().is_some_and(|e| e == ending)).map(move |file| {
        (file.path().strip_prefix(folder).unwrap().to_owned(), fs::read_to_string(file.path()).unwrap())
    })
}

/// `index.md` would be a folder's only page to Hugo.
fn page(to: &Path, path: &Path, title: &str, body: &str) {
    let path = if path.ends_with("index.md") { path.with_file_name("_index.md") } else { path.to_owned() };
    let title = title.replace('"', "\\\"");
    put(&to.join("content").join(path), &format!("---\ntitle: \"{title}\"\n---\n{body}"));
}

fn put(path: &Path, text: &str) {
    fs::create_dir_all(path.parent().unwrap()).unwrap();
    fs::write(path, text).unwrap();
}

/// Hugo over that folder.
pub fn hugo(from: &Path, to: &Path) -> Command {
    let mut command = Command::new("hugo");
    command
        .arg("--quiet")
        .arg("--source")
        .arg(from)
        .arg("--destination")
        .arg(to)
        .arg("--cacheDir")
        .arg(from.join("cache"));
    command
}

/// Hugo's version.
///
/// # Errors
/// How to install it.
pub fn find_hugo() -> Result<String, String> {
    let said = Command::new("hugo").arg("version").output();
    let said = said.map_err(|_| "Hugo is missing: install it (Debian: apt-get install hugo)".to_owned())?;
    let said = String::from_utf8_lossy(&said.stdout).into_owned();
    Ok(said.split_whitespace().nth(1).unwrap_or_default().split(['-', '+']).next().unwrap_or_default().to_owned())
}

/// The script of markdownlint-cli2, installed into the scratch folder of the benches where it is missing.
///
/// # Errors
/// How to install it.
pub fn find_markdownlint() -> Result<PathBuf, String> {
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join(MARKDOWNLINT);
    let script = folder.join("node_modules/markdownlint-cli2/markdownlint-cli2-bin.mjs");
    if !script.is_file() {
        let mut npm = Command::new("npm");
        npm.args(["install", "--no-audit", "--no-fund", "--prefix"])
            .arg(&folder)
            .arg(MARKDOWNLINT)
            .stdout(Stdio::null());
        let done = npm.status().is_ok_and(|status| status.success()) && script.is_file();
        if !done {
            let folder = folder.display();
            return Err(format!(
                "markdownlint-cli2 is missing: npm install --prefix {folder} {MARKDOWNLINT} (needs Node and npm)"
            ));
        }
    }
    Ok(script)
}

/// markdownlint-cli2 over every Markdown file of a base, with its rules as they come.
pub fn markdownlint(script: &Path, kb: &Path) -> Command {
    let mut command = Command::new("node");
    command.arg(script).arg("**/*.md").current_dir(kb).stdout(Stdio::null()).stderr(Stdio::null());
    command
}
