//! Builds that die, disks that fill up, files that vanish: the reader of the site sees the old or the new one whole.
//!
//! In: the real program, two bases that differ on every page. Out: what stands on disk, and that nothing else does.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Output, Stdio};
use std::time::{Duration, Instant};

use ruleout::finding::Level;
use ruleout::load::{Files, Memory, Refusal};

/// Two bases beside each other and the whole sites they make.
struct Bench {
    folder: tempfile::TempDir,
    sites: [BTreeMap<String, Vec<u8>>; 2],
    /// How long a build takes here.
    takes: Duration,
}

impl Bench {
    fn new() -> Self {
        let folder = tempfile::tempdir().unwrap();
        let mut sites = [BTreeMap::new(), BTreeMap::new()];
        let mut takes = Duration::ZERO;
        for (at, title) in ["Harrow Vale depot", "Harrow Vale, the other yard"].into_iter().enumerate() {
            let kb = folder.path().join(format!("kb{at}"));
            copy(&Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/bases/tail-lamp"), &kb);
            let shop = fs::read_to_string(kb.join("shop.yaml")).unwrap();
            let shop: String = shop.lines().filter(|l| !l.starts_with("title:")).map(|l| format!("{l}\n")).collect();
            fs::write(kb.join("shop.yaml"), format!("title: {title}\n{shop}")).unwrap();
            let out = folder.path().join(format!("whole{at}"));
            let start = Instant::now();
            let done = compile(&kb, &out).wait_with_output().unwrap();
            takes = takes.max(start.elapsed());
            assert!(done.status.success(), "{}", said(&done));
            sites[at] = tree(&out);
        }
        assert!(sites[0].iter().all(|(name, bytes)| !name.contains(".html") || sites[1].get(name) != Some(bytes)));
        Self { folder, sites, takes }
    }

    fn kb(&self, at: usize) -> PathBuf {
        self.folder.path().join(format!("kb{}", at % 2))
    }

    /// Which of the two sites stands there, whole.
    fn which(&self, out: &Path) -> usize {
        let found = tree(out);
        self.sites.iter().position(|site| *site == found).unwrap_or_else(|| {
            let odd: Vec<&String> = found.keys().filter(|k| found.get(*k) != self.sites[0].get(*k)).collect();
            panic!("a mixture: of {} files these differ from the first site: {odd:?}", found.len())
        })
    }
}

fn copy(from: &Path, to: &Path) {
    for entry in walkdir::WalkDir::new(from) {
        let entry = entry.unwrap();
        let at = to.join(entry.path().strip_prefix(from).unwrap());
        if entry.file_type().is_dir() {
            fs::create_dir_all(at).unwrap();
        } else {
            fs::copy(entry.path(), at).unwrap();
        }
    }
}

fn tree(folder: &Path) -> BTreeMap<String, Vec<u8>> {
    let files = walkdir::WalkDir::new(folder).into_iter().map(Result::unwrap).filter(|e| e.file_type().is_file());
    let named = |path: &Path| path.strip_prefix(folder).unwrap().to_string_lossy().into_owned();
    files.map(|e| (named(e.path()), fs::read(e.path()).unwrap())).collect()
}

fn compile(kb: &Path, out: &Path) -> Child {
    let mut command = Command::new(env!("CARGO_BIN_EXE_ruleout"));
    command.arg("compile").arg(kb).arg("--out").arg(out).stdout(Stdio::piped()).stderr(Stdio::piped());
    command.spawn().unwrap()
}

fn said(output: &Output) -> String {
    String::from_utf8_lossy(&[&output.stdout[..], &output.stderr[..]].concat()).into_owned()
}

/// Everything in a folder but the bases and the whole sites.
fn litter(folder: &Path) -> Vec<String> {
    let names = fs::read_dir(folder).unwrap().map(|e| e.unwrap().file_name().to_string_lossy().into_owned());
    let mut names: Vec<String> = names.filter(|n| !n.starts_with("kb") && !n.starts_with("whole")).collect();
    names.sort();
    names
}

/// Odds and ends that look random and are the same in every run (an xorshift of Marsaglia's).
struct Random(u64);

impl Random {
    fn below(&mut self, n: u32) -> u32 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        u32::try_from((self.0 >> 16) % u64::from(n)).unwrap()
    }
}

#[test]
fn a_build_killed_at_any_moment_leaves_the_old_site_or_the_new_one() {
    let bench = Bench::new();
    let out = bench.folder.path().join("site");
    assert!(compile(&bench.kb(0), &out).wait().unwrap().success());
    let mut random = Random(0x9e37_79b9_7f4a_7c15);
    let (mut stands, mut swapped, mut killed, mut tries) = (0, 0, 0, 0);
    // The time a build takes changes with what else the machine does: half of the kills are to fall near its end.
    let mut takes = bench.takes;
    while killed < 200 {
        tries += 1;
        assert!(tries < 2000, "only {killed} builds of {tries} were still running when killed");
        // Half of them around the end, where the folders change places and the old one is cleared away.
        let share = if tries % 2 == 0 { random.below(1000) } else { 850 + random.below(200) };
        let mut build = compile(&bench.kb(stands + 1), &out);
        std::thread::sleep(takes * share / 1000);
        let alive = build.try_wait().unwrap().is_none();
        build.kill().unwrap();
        build.wait().unwrap();
        takes = if alive { takes * 103 / 100 } else { takes * 90 / 100 };
        let now = bench.which(&out);
        killed += usize::from(alive);
        swapped += usize::from(now != stands);
        stands = now;
    }
    println!("{killed} of {tries} killed while they ran, {swapped} had changed places");
    let done = compile(&bench.kb(stands + 1), &out).wait_with_output().unwrap();
    assert!(done.status.success(), "{}", said(&done));
    assert_ne!(bench.which(&out), stands);
    assert_eq!(litter(bench.folder.path()), ["site"]);
}

#[test]
fn builds_at_once_end_with_one_whole_site() {
    let bench = Bench::new();
    let out = bench.folder.path().join("site");
    for _ in 0..3 {
        let builds: Vec<Child> = (0..4).map(|at| compile(&bench.kb(at), &out)).collect();
        for build in builds {
            let done = build.wait_with_output().unwrap();
            assert!(done.status.success(), "{}", said(&done));
        }
        bench.which(&out);
        assert_eq!(litter(bench.folder.path()), ["site"]);
    }
}

/// Runs a shell script that may mount file systems of its own, which are gone when it ends.
fn with_mounts(script: &str, bench: &Bench) -> Output {
    let scratch = bench.folder.path().join("kb-mount");
    fs::create_dir_all(&scratch).unwrap();
    let mut command = Command::new("unshare");
    command.args(["--user", "--map-root-user", "--mount", "sh", "-euc", script]);
    command.env("RULEOUT", env!("CARGO_BIN_EXE_ruleout")).env("MOUNT", &scratch);
    command.env("KB0", bench.kb(0)).env("KB1", bench.kb(1)).env("HERE", bench.folder.path());
    let output = command.output().unwrap();
    assert!(!said(&output).contains("panicked"), "{}", said(&output));
    output
}

#[test]
fn a_full_disk_leaves_the_old_site() {
    let bench = Bench::new();
    // Room for one site and a little: the second build fills the disk, and all it wrote is gone again.
    let size: usize = bench.sites[0].values().map(|b| b.len().div_ceil(4096)).sum::<usize>() * 4 + 160;
    let script = format!(
        "mount -t tmpfs -o size={size}k tmpfs \"$MOUNT\"
         \"$RULEOUT\" compile \"$KB0\" --out \"$MOUNT/site\"
         set +e; \"$RULEOUT\" compile \"$KB1\" --out \"$MOUNT/site\"; code=$?; set -e
         mkdir \"$HERE/whole-left\"; cp -r \"$MOUNT/site/.\" \"$HERE/whole-left\"; ls -A \"$MOUNT\" > \"$HERE/whole-names\"
         rm -rf \"$MOUNT/site\"; \"$RULEOUT\" compile \"$KB1\" --out \"$MOUNT/site\"
         exit $code"
    );
    let output = with_mounts(&script, &bench);
    assert_eq!(output.status.code(), Some(2), "{}", said(&output));
    assert!(said(&output).contains("No space left"), "{}", said(&output));
    assert_eq!(bench.which(&bench.folder.path().join("whole-left")), 0);
    assert_eq!(fs::read_to_string(bench.folder.path().join("whole-names")).unwrap(), "site\n");
}

#[test]
fn another_file_system_a_mount_point_and_a_read_only_disk() {
    let bench = Bench::new();
    let script = "mount -t tmpfs tmpfs \"$MOUNT\"
         \"$RULEOUT\" compile \"$KB0\" --out \"$MOUNT/site\"; \"$RULEOUT\" compile \"$KB1\" --out \"$MOUNT/site\"
         mkdir \"$HERE/whole-left\"; cp -r \"$MOUNT/site/.\" \"$HERE/whole-left\"
         mkdir \"$MOUNT/point\"; mount -t tmpfs tmpfs \"$MOUNT/point\"
         set +e
         \"$RULEOUT\" compile \"$KB0\" --out \"$MOUNT/point\"; echo \"mount point: $?\"
         mount -o remount,ro \"$MOUNT\"
         \"$RULEOUT\" compile \"$KB0\" --out \"$MOUNT/site\"; echo \"read-only: $?\"
         diff -r \"$MOUNT/site\" \"$HERE/whole-left\" && ls -A \"$MOUNT\"";
    let output = with_mounts(script, &bench);
    let told = said(&output);
    assert!(output.status.success(), "{told}");
    for part in ["mount point: 2", "read-only: 2", "Read-only file system", "which cannot be replaced"] {
        assert!(told.contains(part), "`{part}` is missing:\n{told}");
    }
    assert!(String::from_utf8_lossy(&output.stdout).ends_with("point\nsite\n"), "{told}");
    assert_eq!(bench.which(&bench.folder.path().join("whole-left")), 1);
}

/// A base in which one file is listed and gone when it is read.
struct Vanishing(Memory, &'static str);

impl Files for Vanishing {
    fn list(&self) -> Result<Vec<String>, String> {
        self.0.list()
    }

    fn read(&self, path: &str) -> Result<Vec<u8>, Refusal> {
        if path == self.1 { Memory::default().read(path) } else { self.0.read(path) }
    }
}

#[test]
fn a_file_that_vanishes_while_reading_is_one_clear_error() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/bases/tail-lamp");
    let mut files = tree(&folder);
    for path in files.keys().filter(|path| !path.starts_with("figures/")) {
        let base = Vanishing(files.clone().into_iter().collect(), path.clone().leak());
        let linted = ruleout::lint(&base).unwrap();
        let errors: Vec<_> = linted.report.findings.iter().filter(|f| f.level == Level::Error).collect();
        assert_eq!(errors.len(), 1, "{path}: {errors:#?}");
        assert!(errors[0].message.contains("cannot be read"), "{path}: {}", errors[0].message);
        assert_eq!(linted.loaded.sources.file(errors[0].span.file).path(), path);
    }
    // A picture that goes between judging and writing stops the site with a sentence.
    files.insert("figures/photo.png".into(), b"\x89PNG".to_vec());
    let linted = ruleout::lint(&files.clone().into_iter().collect::<Memory>()).unwrap();
    let base = Vanishing(files.into_iter().collect(), "figures/photo.png");
    let stopped = ruleout::site::make(&base, &linted, &|_, _| Ok(())).unwrap_err();
    assert!(stopped.starts_with("figures/photo.png: ") && stopped.contains("cannot be read"), "{stopped}");
}

#[test]
fn files_that_come_and_go_never_break_a_build() {
    let bench = Bench::new();
    let (out, kb) = (bench.folder.path().join("site"), bench.kb(0));
    let spec = kb.join("specs/lamp.yaml");
    let text = fs::read(&spec).unwrap();
    let stop = std::sync::atomic::AtomicBool::new(false);
    std::thread::scope(|scope| {
        scope.spawn(|| {
            while !stop.load(std::sync::atomic::Ordering::Relaxed) {
                let _ = fs::remove_file(&spec);
                std::thread::sleep(Duration::from_millis(1));
                fs::write(&spec, &text).unwrap();
                std::thread::sleep(Duration::from_millis(1));
            }
        });
        let mut codes = BTreeMap::new();
        for _ in 0..20 {
            let done = compile(&kb, &out).wait_with_output().unwrap();
            assert!(!said(&done).contains("panicked"), "{}", said(&done));
            *codes.entry(done.status.code()).or_insert(0) += 1;
        }
        stop.store(true, std::sync::atomic::Ordering::Relaxed);
        assert!(codes.keys().all(|code| matches!(code, Some(0..=2))), "{codes:?}");
    });
    fs::write(&spec, &text).unwrap();
    assert!(compile(&kb, &out).wait().unwrap().success());
    assert_eq!(bench.which(&out), 0);
    assert_eq!(litter(bench.folder.path()), ["site"]);
}
