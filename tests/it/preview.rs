//! `ruleout preview`, by the real program over HTTP.

use std::io::{BufRead as _, BufReader, Read as _, Write as _};
use std::net::{TcpListener, TcpStream};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

const PROGRAM: &str = env!("CARGO_BIN_EXE_ruleout");
const LAMP: &str = "procedures/horn-silent.html";

struct Preview {
    child: Child,
    port: u16,
    scratch: tempfile::TempDir,
}

struct Answer {
    status: u16,
    head: String,
    body: Vec<u8>,
}

impl Answer {
    fn text(&self) -> String {
        String::from_utf8_lossy(&self.body).into_owned()
    }
}

impl Preview {
    /// Over a drafted base.
    fn start() -> Self {
        let scratch = tempfile::tempdir().unwrap();
        let kb = scratch.path().join("kb");
        assert!(Command::new(PROGRAM).args(["draft", "base"]).arg(&kb).output().unwrap().status.success());
        Self::over(scratch)
    }

    fn over(scratch: tempfile::TempDir) -> Self {
        let mut command = Command::new(PROGRAM);
        command.current_dir(scratch.path()).args(["preview", "kb"]).stdout(Stdio::piped()).stderr(Stdio::null());
        let mut child = command.spawn().unwrap();
        let mut line = String::new();
        BufReader::new(child.stdout.as_mut().unwrap()).read_line(&mut line).unwrap();
        let port =
            line.trim().strip_prefix("http://127.0.0.1:").and_then(|l| l.strip_suffix('/')).unwrap().parse().unwrap();
        Self { child, port, scratch }
    }

    fn file(&self, path: &str) -> PathBuf {
        self.scratch.path().join("kb").join(path)
    }

    fn horn(&self) -> PathBuf {
        self.file("procedures/body/horn-silent.md")
    }

    /// Sends bytes as they are and reads to the end.
    fn raw(&self, request: &str) -> Answer {
        let mut stream = TcpStream::connect(("127.0.0.1", self.port)).unwrap();
        stream.set_read_timeout(Some(Duration::from_secs(60))).unwrap();
        stream.write_all(request.as_bytes()).unwrap();
        let mut all = Vec::new();
        stream.read_to_end(&mut all).unwrap();
        let at = all.windows(4).position(|w| w == b"\r\n\r\n").unwrap();
        let head = String::from_utf8_lossy(&all[..at]).into_owned();
        let status = head.split(' ').nth(1).unwrap().parse().unwrap();
        Answer { status, head, body: all[at + 4..].to_vec() }
    }

    fn ask(&self, method: &str, path: &str) -> Answer {
        self.raw(&format!("{method} /{path} HTTP/1.1\r\nHost: localhost:{}\r\nConnection: close\r\n\r\n", self.port))
    }

    fn get(&self, path: &str) -> Answer {
        self.ask("GET", path)
    }

    fn generation(&self) -> u64 {
        let told: serde_json::Value = serde_json::from_slice(&self.get("_preview/wait").body).unwrap();
        told["generation"].as_u64().unwrap()
    }

    /// Changes something, waits for the word that it was noticed, and gives that.
    fn after(&self, change: impl FnOnce(&Self)) -> serde_json::Value {
        let before = self.generation();
        change(self);
        let told = self.get(&format!("_preview/wait?after={before}"));
        let told: serde_json::Value = serde_json::from_slice(&told.body).unwrap();
        assert!(told["generation"].as_u64().unwrap() > before, "nothing was noticed: {told}");
        told
    }

    /// Looks until a page holds a text: several saves may take several states.
    fn shows(&self, path: &str, text: &str) -> String {
        let until = Instant::now() + Duration::from_secs(20);
        loop {
            let page = self.get(path).text();
            if page.contains(text) || Instant::now() > until {
                assert!(page.contains(text), "{path} does not show `{text}`:\n{page}");
                return page;
            }
            std::thread::sleep(Duration::from_millis(20));
        }
    }
}

impl Drop for Preview {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

fn edit(path: &Path, from: &str, to: &str) {
    let text = std::fs::read_to_string(path).unwrap();
    assert!(text.contains(from), "{from}");
    std::fs::write(path, text.replacen(from, to, 1)).unwrap();
}

#[test]
fn it_serves_every_file_that_compile_writes() {
    let scratch = tempfile::tempdir().unwrap();
    let base = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/bases/tail-lamp");
    for entry in walkdir::WalkDir::new(&base).into_iter().map(Result::unwrap).filter(|e| e.file_type().is_file()) {
        let to = scratch.path().join("kb").join(entry.path().strip_prefix(&base).unwrap());
        std::fs::create_dir_all(to.parent().unwrap()).unwrap();
        std::fs::copy(entry.path(), to).unwrap();
    }
    let site = scratch.path().join("site");
    let mut compile = Command::new(PROGRAM);
    let compile = compile.current_dir(scratch.path()).args(["compile", "kb", "--out"]).arg(&site).output().unwrap();
    assert!(compile.status.success(), "{}", String::from_utf8_lossy(&compile.stdout));
    let preview = Preview::over(scratch);
    let mut seen = 0;
    for entry in walkdir::WalkDir::new(&site).into_iter().map(Result::unwrap).filter(|e| e.file_type().is_file()) {
        let path = entry.path().strip_prefix(&site).unwrap().to_str().unwrap().replace('\\', "/");
        let written = std::fs::read(entry.path()).unwrap();
        // The index has one name here; what a browser keeps for later has no place in a preview.
        if path.starts_with('.')
            || path == "sw.js"
            || path.starts_with("assets/files.")
            || path == "ruleout-site.txt"
            || path.starts_with("assets/search.")
        {
            continue;
        }
        let served = preview.get(&path);
        assert_eq!(served.status, 200, "{path}");
        if written.starts_with(b"<!doctype html>") {
            let line = |text: &str| {
                text.lines().find(|l| l.contains("<h1>")).map(|l| l.split("</h1>").next().unwrap().to_owned())
            };
            assert_eq!(line(&served.text()), line(&String::from_utf8_lossy(&written)), "{path}");
            assert!(served.text().contains("/_preview/preview.js"), "{path}");
            assert!(!served.text().contains("sw.js"), "{path}: a browser would keep the pages of a preview");
        } else {
            assert_eq!(served.body, written, "{path}");
        }
        seen += 1;
    }
    assert!(seen > 40, "only {seen} files were compared");
    assert!(preview.get("assets/search.js").text().contains("tail"));
    assert!(preview.get("").text().contains("<title>") && preview.get("procedures/").status == 200);
}

#[test]
fn a_save_is_told_and_shown_and_only_pages_that_changed_are_others() {
    let preview = Preview::start();
    let digest = |page: &str| preview.get(&format!("_preview/digest?page={page}")).text();
    let (horn, rule) = (digest(LAMP), digest("rules/reading-gap.html"));
    assert!(!horn.is_empty() && !rule.is_empty());
    let told = preview.after(|p| edit(&p.horn(), "Feed to the horn broken", "Feed of the horn broken"));
    assert_eq!((told["errors"].as_u64(), told["trouble"].is_null()), (Some(0), true));
    assert!(preview.get(LAMP).text().contains("Feed of the horn broken"));
    assert_ne!(digest(LAMP), horn);
    assert_eq!(digest("rules/reading-gap.html"), rule, "a page that shows nothing of it counts as changed");
    // An editor that writes beside the file and renames.
    preview.after(|p| {
        let text = std::fs::read_to_string(p.horn()).unwrap().replace("Feed of the horn", "Feed at the horn");
        let beside = p.file("procedures/body/horn-silent.md~");
        std::fs::write(&beside, text).unwrap();
        std::fs::rename(beside, p.horn()).unwrap();
    });
    preview.shows(LAMP, "Feed at the horn broken");
    // The old file moved away, a new one written in its place, as some others do.
    preview.after(|p| {
        let text = std::fs::read_to_string(p.horn()).unwrap().replace("Feed at the horn broken", "Feed gone");
        std::fs::rename(p.horn(), p.file("procedures/body/horn-silent.md.bak")).unwrap();
        std::fs::write(p.horn(), text).unwrap();
    });
    preview.shows(LAMP, "Feed gone");
    // Several files at once, a table among them.
    preview.after(|p| {
        for n in 0..5 {
            edit(&p.horn(), "Feed gone", &format!("Feed {n} gone"));
            edit(&p.horn(), &format!("Feed {n} gone"), "Feed gone");
        }
        edit(&p.horn(), "Feed gone", "Feed away");
        edit(&p.file("vehicles.yaml"), "Orlo T2 van", "Orlo T2 long van");
    });
    preview.shows(LAMP, "Feed away");
    preview.shows("vehicles/orlo-t2.html", "Orlo T2 long van");
}

#[test]
fn files_may_come_and_go() {
    let preview = Preview::start();
    assert_eq!(preview.get("procedures/lamp-dark.html").status, 404);
    preview.after(|p| {
        let folder = p.file("procedures/lighting");
        std::fs::create_dir(&folder).unwrap();
        let text = std::fs::read_to_string(p.horn()).unwrap().replace("Horn stays silent", "Lamp stays dark");
        std::fs::write(folder.join("lamp-dark.md"), text).unwrap();
    });
    preview.shows("procedures/lamp-dark.html", "Lamp stays dark");
    preview.after(|p| std::fs::remove_file(p.file("procedures/lighting/lamp-dark.md")).unwrap());
    let gone = preview.get("procedures/lamp-dark.html");
    assert!(gone.status == 404 && gone.text().contains("/_preview/preview.js"), "{}", gone.text());
}

#[test]
fn a_folder_that_vanishes_is_told_and_noticed_when_it_is_back() {
    let preview = Preview::start();
    let (kb, away) = (preview.scratch.path().join("kb"), preview.scratch.path().join("away"));
    let told = preview.after(|p| {
        std::fs::rename(&kb, &away).unwrap();
        // A word from inside: the folder above is not watched.
        std::fs::write(away.join("terms.yaml"), "").unwrap();
        assert_eq!(p.get(LAMP).status, 200, "the last state is still shown");
    });
    assert!(told["trouble"].as_str().is_some_and(|t| t.contains("there is no folder `kb`")), "{told}");
    assert!(preview.get(LAMP).text().contains("Pull the plug off the horn"));
    // Another folder of that name, not the one that was watched.
    let told = preview.after(|_| {
        for entry in walkdir::WalkDir::new(&away).into_iter().map(Result::unwrap).filter(|e| e.file_type().is_file()) {
            let to = kb.join(entry.path().strip_prefix(&away).unwrap());
            std::fs::create_dir_all(to.parent().unwrap()).unwrap();
            std::fs::copy(entry.path(), to).unwrap();
        }
    });
    assert!(told["trouble"].is_null() || told["errors"] != 0, "{told}");
    preview.shows("index.html", "Horn stays silent");
    preview.after(|p| edit(&p.horn(), "Pull the plug off the horn", "Pull the horn's plug off"));
    preview.shows(LAMP, "Pull the horn's plug off");
}

#[cfg(unix)]
#[test]
fn it_opens_the_browser_when_asked_to() {
    let scratch = tempfile::tempdir().unwrap();
    let kb = scratch.path().join("kb");
    assert!(Command::new(PROGRAM).args(["draft", "base"]).arg(&kb).output().unwrap().status.success());
    let opened = scratch.path().join("opened");
    for name in ["xdg-open", "wslview", "open"] {
        let script = scratch.path().join(name);
        std::fs::write(&script, format!("#!/bin/sh\necho \"$1\" >'{}'\n", opened.display())).unwrap();
        assert!(Command::new("chmod").arg("+x").arg(&script).status().unwrap().success());
    }
    let path = format!("{}:{}", scratch.path().display(), std::env::var("PATH").unwrap());
    let mut command = Command::new(PROGRAM);
    command.arg("preview").arg(&kb).arg("--open").env("PATH", path).stdout(Stdio::piped()).stderr(Stdio::null());
    let mut child = command.spawn().unwrap();
    let mut line = String::new();
    BufReader::new(child.stdout.as_mut().unwrap()).read_line(&mut line).unwrap();
    let until = Instant::now() + Duration::from_secs(10);
    while std::fs::read_to_string(&opened).unwrap_or_default().is_empty() && Instant::now() < until {
        std::thread::sleep(Duration::from_millis(20));
    }
    child.kill().unwrap();
    child.wait().unwrap();
    assert_eq!(std::fs::read_to_string(&opened).unwrap(), line);
}

#[test]
fn findings_stand_at_their_steps_and_pages_are_shown_despite_errors() {
    let preview = Preview::start();
    let told = preview.after(|p| edit(&p.horn(), "      - if: below spec\n        shows: wiring\n", ""));
    assert_eq!(told["errors"], 1, "{told}");
    let page = preview.get(LAMP).text();
    let at = |text: &str| page.find(text).unwrap_or_else(|| panic!("no `{text}` in:\n{page}"));
    assert!(at("id=\"feed\"") < at("reading-gap") && at("reading-gap") < at("Pull the plug off the horn"), "{page}");
    let front = preview.get("").text();
    assert!(
        front.contains("href=\"procedures/horn-silent.html#feed\"")
            && front.contains("kb/procedures/body/horn-silent.md:")
    );
    // A cause's finding stands in its row; a spec's on its own page.
    preview.after(|p| edit(&p.horn(), "    fix: mend-wiring\n", ""));
    let page = preview.get(LAMP).text();
    let row = &page[page.find("id=\"wiring\"").unwrap()..];
    assert!(row[..row.find("</th>").unwrap()].contains("no-fix"), "{row}");
    preview.after(|p| edit(&p.file("specs/horn.yaml"), "source: Invented for the demonstration", "source: TBD"));
    assert!(preview.get("specs/horn-feed.html").text().contains("unsourced-value"));
}

#[test]
fn a_broken_file_shows_its_error_and_keeps_the_last_good_page() {
    let preview = Preview::start();
    // Nobody has looked at the page yet: what it was before the save is kept all the same.
    let told = preview.after(|p| edit(&p.horn(), "causes:", "causes: ["));
    assert_eq!(told["errors"], 1);
    let page = preview.get(LAMP);
    assert_eq!(page.status, 200);
    assert!(
        page.text().contains("bad-front-matter") && page.text().contains("Pull the plug off the horn"),
        "{}",
        page.text()
    );
    assert!(page.text().contains("Shown as it was before"));
    assert_eq!(preview.get("jobs/horn-silent.js").status, 200);
    // Broken in another way: still the last good one.
    preview.after(|p| edit(&p.horn(), "causes: [", "causes"));
    assert!(preview.get(LAMP).text().contains("Pull the plug off the horn"));
    let told = preview.after(|p| edit(&p.horn(), "\ncauses\n", "\ncauses:\n"));
    assert_eq!(told["errors"], 0);
    assert!(!preview.get(LAMP).text().contains("preview-error"));
    // A table that breaks takes no page away.
    preview.after(|p| edit(&p.file("hazards.yaml"), "loud-horn:", "loud-horn: ["));
    assert_eq!(preview.get(LAMP).status, 200);
    assert!(preview.get("").text().contains("bad-front-matter"));
}

#[test]
fn a_procedure_that_never_resolved_shows_its_findings() {
    let scratch = tempfile::tempdir().unwrap();
    let kb = scratch.path().join("kb");
    assert!(Command::new(PROGRAM).args(["draft", "base"]).arg(&kb).output().unwrap().status.success());
    edit(&kb.join("procedures/body/horn-silent.md"), "then: feed", "then: feeed");
    let preview = Preview::over(scratch);
    let page = preview.get(LAMP);
    assert_eq!(page.status, 200);
    assert!(page.text().contains("there is no step `feeed`"), "{}", page.text());
    preview.after(|p| edit(&p.horn(), "then: feeed", "then: feed"));
    assert!(preview.get(LAMP).text().contains("Pull the plug off the horn"));
}

#[test]
fn it_answers_this_machine_only_and_serves_nothing_else() {
    let preview = Preview::start();
    let port = preview.port;
    std::fs::write(preview.scratch.path().join("secret.txt"), "secret").unwrap();
    let with = |host: &str| preview.raw(&format!("GET / HTTP/1.1\r\n{host}Connection: close\r\n\r\n")).status;
    for host in ["localhost", "127.0.0.1", "[::1]", "LocalHost"] {
        assert_eq!(with(&format!("Host: {host}:{port}\r\n")), 200, "{host}");
    }
    for host in [
        "depot.example",
        "localhost.depot.example",
        "127.0.0.1.depot.example",
        "127.0.0.2",
        "0.0.0.0",
        "evil@localhost",
    ] {
        assert_eq!(with(&format!("Host: {host}:{port}\r\n")), 403, "{host}");
    }
    for host in ["Host: localhost\r\n", "Host: localhost:1\r\n", "Host: \r\n", "X: y\r\n"] {
        assert!([400, 403].contains(&with(host)), "{host}");
    }
    assert!([400, 403].contains(&with(&format!("Host: localhost:{port}\r\nHost: depot.example\r\n"))));
    let absolute = format!("GET http://depot.example/ HTTP/1.1\r\nHost: localhost:{port}\r\nConnection: close\r\n\r\n");
    assert!([400, 403].contains(&preview.raw(&absolute).status));
    let event = format!("GET /_preview/wait HTTP/1.1\r\nHost: depot.example:{port}\r\nConnection: close\r\n\r\n");
    assert_eq!(preview.raw(&event).status, 403);
    for path in [
        "../secret.txt",
        "%2e%2e/secret.txt",
        "..%2fsecret.txt",
        "..%5csecret.txt",
        "figures/../../secret.txt",
        "figures/%2e%2e/shop.yaml",
        "shop.yaml",
        "procedures/body/horn-silent.md",
        "/etc/passwd",
        ".git/config",
        "_preview/../shop.yaml",
        "_preview/",
        "jobs/",
        "é.html",
        "procedures/../shop.yaml",
        "%00",
        "procedures/horn-silent.html%00.js",
        "sw.js",
    ] {
        let answer = preview.get(path);
        assert!([400, 404].contains(&answer.status), "{path}: {}", answer.status);
        assert!(!answer.text().contains("secret\n") && !answer.text().contains("labour-rate"), "{path}");
    }
    assert_eq!(preview.get("%zz").status, 400);
    let head = preview.ask("HEAD", LAMP);
    let get = preview.get(LAMP);
    assert!(head.status == 200 && head.body.is_empty());
    assert!(head.head.contains(&format!("content-length: {}", get.body.len())), "{}", head.head);
    for method in ["POST", "PUT", "DELETE", "OPTIONS", "PATCH", "TRACE", "BREW"] {
        let answer = preview.ask(method, "");
        assert_eq!(answer.status, 405, "{method}");
        assert!(answer.head.contains("allow: GET, HEAD"), "{}", answer.head);
    }
    assert!(
        get.head.contains("no-store") && get.head.contains("nosniff") && get.head.contains("same-origin"),
        "{}",
        get.head
    );
    assert!(get.text().contains("script-src 'self'") && get.text().contains("connect-src 'self'"), "{}", get.text());
}

#[test]
fn ctrl_c_ends_it_well() {
    for signal in ["-INT", "-TERM"] {
        let mut preview = Preview::start();
        // Somebody is waiting for news.
        let mut waiting = TcpStream::connect(("127.0.0.1", preview.port)).unwrap();
        waiting
            .write_all(
                format!("GET /_preview/wait?after=1 HTTP/1.1\r\nHost: localhost:{}\r\n\r\n", preview.port).as_bytes(),
            )
            .unwrap();
        std::thread::sleep(Duration::from_millis(100));
        let sent = Command::new("kill").args([signal, &preview.child.id().to_string()]).status().unwrap();
        assert!(sent.success());
        let until = Instant::now() + Duration::from_secs(5);
        while preview.child.try_wait().unwrap().is_none() && Instant::now() < until {
            std::thread::sleep(Duration::from_millis(20));
        }
        assert_eq!(preview.child.try_wait().unwrap().and_then(|s| s.code()), Some(0), "{signal}");
    }
}

#[test]
fn what_it_cannot_do_is_one_sentence() {
    let taken = TcpListener::bind("127.0.0.1:0").unwrap();
    let port = taken.local_addr().unwrap().port().to_string();
    let scratch = tempfile::tempdir().unwrap();
    let kb = scratch.path().join("kb");
    assert!(Command::new(PROGRAM).args(["draft", "base"]).arg(&kb).output().unwrap().status.success());
    std::fs::create_dir(scratch.path().join("empty")).unwrap();
    let cases: [(&[&str], &str); 4] = [
        (&["kb", "--port", &port], "in use"),
        (&["empty"], "no knowledge base here"),
        (&["nowhere"], "there is no folder"),
        (&["kb/shop.yaml"], "expected a folder"),
    ];
    for (words, says) in cases {
        let output = Command::new(PROGRAM).current_dir(scratch.path()).arg("preview").args(words).output().unwrap();
        let said = String::from_utf8_lossy(&output.stderr);
        assert_eq!(output.status.code(), Some(2), "{words:?}: {said}");
        assert!(output.stdout.is_empty() && said.lines().count() == 1 && said.contains(says), "{words:?}: {said}");
    }
}
