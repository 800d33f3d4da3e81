//! A site replaces the old one whole, or nothing changes.

use std::collections::BTreeMap;
use std::fs;
use std::os::unix::fs::{MetadataExt as _, PermissionsExt as _, symlink};
use std::path::Path;

use ruleout::emit::{new_files, replace_file, replace_site};

/// Every file below a folder with its text.
fn tree(folder: &Path) -> BTreeMap<String, String> {
    walkdir::WalkDir::new(folder)
        .into_iter()
        .map(Result::unwrap)
        .filter(|e| e.file_type().is_file())
        .map(|e| {
            let name = e.path().strip_prefix(folder).unwrap().to_string_lossy().into_owned();
            (name, fs::read_to_string(e.path()).unwrap())
        })
        .collect()
}

/// Everything in a folder, hidden or not.
fn names(folder: &Path) -> Vec<String> {
    let mut names: Vec<String> =
        fs::read_dir(folder).unwrap().map(|e| e.unwrap().file_name().to_string_lossy().into_owned()).collect();
    names.sort();
    names
}

fn write(out: &Path, files: &[(&str, &str)]) -> Result<ruleout::emit::Written, String> {
    replace_site(out, |tree| files.iter().try_for_each(|(name, text)| tree.put(name, text.as_bytes())))
}

#[test]
fn the_new_site_replaces_the_old_whole() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("site");
    write(&out, &[("index.html", "one"), ("a/b.html", "same"), ("gone.html", "x")]).unwrap();
    let inode = fs::metadata(out.join("a/b.html")).unwrap().ino();
    let written = write(&out, &[("index.html", "two"), ("a/b.html", "same")]).unwrap();
    assert_eq!((written.files, written.unchanged), (2, 1));
    let tree = tree(&out);
    assert_eq!(tree.keys().collect::<Vec<_>>(), ["a/b.html", "index.html", "ruleout-site.txt"]);
    assert_eq!(tree["index.html"], "two");
    assert_eq!(fs::metadata(out.join("a/b.html")).unwrap().ino(), inode, "an unchanged file is the same file");
    assert_eq!(names(folder.path()), ["site"], "nothing is left beside it");
}

#[test]
fn a_file_that_somebody_changed_is_written_again() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("site");
    write(&out, &[("index.html", "same")]).unwrap();
    fs::write(out.join("index.html"), "SAME").unwrap();
    write(&out, &[("index.html", "same")]).unwrap();
    assert_eq!(tree(&out)["index.html"], "same");
}

#[test]
fn a_build_that_fails_changes_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("site");
    write(&out, &[("index.html", "old"), ("b.html", "b")]).unwrap();
    let before = tree(&out);
    let error = replace_site(&out, |tree| {
        tree.put("index.html", b"new")?;
        tree.put("b.html", b"b")?;
        Err("no more".into())
    });
    assert_eq!(error, Err("no more".into()));
    let twice = write(&out, &[("b.html", "b"), ("b.html", "c")]).unwrap_err();
    assert!(twice.contains("two files"), "{twice}");
    for address in ["../x.html", "/x.html", "", "a/../x.html", ".hidden", "ruleout-site.txt"] {
        assert!(write(&out, &[(address, "x")]).is_err(), "{address}");
    }
    assert_eq!(tree(&out), before);
    assert_eq!(names(folder.path()), ["site"]);
}

#[test]
fn dot_files_stay_and_others_folders_are_refused() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("site");
    fs::create_dir_all(out.join(".git/objects")).unwrap();
    fs::write(out.join(".git/HEAD"), "ref").unwrap();
    fs::write(out.join(".gitignore"), "*\n").unwrap();
    fs::set_permissions(&out, fs::Permissions::from_mode(0o750)).unwrap();
    for text in ["one", "two"] {
        write(&out, &[("index.html", text)]).unwrap();
        let tree = tree(&out);
        assert_eq!((tree[".gitignore"].as_str(), tree[".git/HEAD"].as_str()), ("*\n", "ref"));
        assert_eq!(tree["index.html"], text);
    }
    assert_eq!(fs::metadata(&out).unwrap().permissions().mode() & 0o777, 0o750);
    let foreign = folder.path().join("foreign");
    fs::create_dir(&foreign).unwrap();
    fs::write(foreign.join("thesis.txt"), "mine").unwrap();
    let error = write(&foreign, &[("index.html", "x")]).unwrap_err();
    assert!(error.contains("thesis.txt") && error.contains("foreign"), "{error}");
    assert_eq!(names(&foreign), ["thesis.txt"]);
    let file = folder.path().join("file");
    fs::write(&file, "x").unwrap();
    assert!(write(&file, &[("index.html", "x")]).is_err());
    assert_eq!(fs::read_to_string(&file).unwrap(), "x");
}

#[test]
fn what_was_put_among_our_files_goes_with_the_old_site_and_a_link_with_it_but_not_what_it_leads_to() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("site");
    write(&out, &[("index.html", "old"), ("a/b.html", "b")]).unwrap();
    let outside = folder.path().join("outside");
    fs::create_dir(&outside).unwrap();
    fs::write(outside.join("mine.txt"), "mine").unwrap();
    symlink(&outside, out.join("a/linked")).unwrap();
    symlink(outside.join("mine.txt"), out.join("index.html.txt")).unwrap();
    fs::write(out.join("Thumbs.db"), "x").unwrap();
    write(&out, &[("index.html", "new")]).unwrap();
    assert_eq!(tree(&out).keys().collect::<Vec<_>>(), ["index.html", "ruleout-site.txt"]);
    assert_eq!(fs::read_to_string(outside.join("mine.txt")).unwrap(), "mine");
    assert_eq!(names(folder.path()), ["outside", "site"]);
}

#[test]
fn a_link_by_the_name_of_a_leftover_leads_nowhere() {
    for name in [".site.ruleout-new", ".site.ruleout-old"] {
        for there_before in [false, true] {
            let folder = tempfile::tempdir().unwrap();
            let (out, home) = (folder.path().join("site"), folder.path().join("home"));
            fs::create_dir_all(home.join(".keys")).unwrap();
            fs::write(home.join(".keys/mine"), "secret").unwrap();
            if there_before {
                write(&out, &[("index.html", "old")]).unwrap();
            }
            symlink(&home, folder.path().join(name)).unwrap();
            let error = write(&out, &[("index.html", "new")]).unwrap_err();
            assert!(error.contains(name) && error.contains("take it away"), "{error}");
            assert_eq!(fs::read_to_string(home.join(".keys/mine")).unwrap(), "secret");
            assert_eq!(out.exists(), there_before);
            assert!(!out.join(".keys").exists());
        }
    }
}

#[test]
fn what_a_dead_build_left_is_cleared_away() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("site");
    write(&out, &[("index.html", "one")]).unwrap();
    // Died while building.
    fs::create_dir_all(folder.path().join(".site.ruleout-new/procedures")).unwrap();
    fs::write(folder.path().join(".site.ruleout-new/procedures/x.html"), "half").unwrap();
    write(&out, &[("index.html", "two")]).unwrap();
    assert_eq!(names(folder.path()), ["site"]);
    // Died between two renames: the old site stands aside.
    fs::rename(&out, folder.path().join(".site.ruleout-old")).unwrap();
    let error = replace_site(&out, |_| Err("stop".into()));
    assert!(error.is_err());
    assert_eq!(tree(&out)["index.html"], "two", "the old site is back");
    // Died after the exchange: a dot-folder that had not moved yet is rescued.
    fs::create_dir_all(folder.path().join(".site.ruleout-new/.git")).unwrap();
    fs::write(folder.path().join(".site.ruleout-new/.git/HEAD"), "ref").unwrap();
    write(&out, &[("index.html", "three")]).unwrap();
    assert_eq!(tree(&out)[".git/HEAD"], "ref");
    assert_eq!(names(folder.path()), ["site"]);
}

#[test]
fn two_builds_at_once_both_end_whole() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("site");
    std::thread::scope(|scope| {
        for number in 0..6 {
            let out = &out;
            scope.spawn(move || {
                let text = number.to_string();
                let pages: Vec<String> = (0..40).map(|p| format!("p/{p}.html")).collect();
                let files: Vec<(&str, &str)> = pages.iter().map(|p| (p.as_str(), text.as_str())).collect();
                write(out, &files).unwrap();
            });
        }
    });
    let tree = tree(&out);
    let texts: std::collections::BTreeSet<&String> =
        tree.iter().filter(|(name, _)| name.starts_with("p/")).map(|(_, text)| text).collect();
    assert_eq!((tree.len(), texts.len()), (41, 1), "all files of one build");
    assert_eq!(names(folder.path()), ["site"]);
}

#[test]
fn a_link_to_a_folder_stands_for_the_folder() {
    let folder = tempfile::tempdir().unwrap();
    fs::create_dir(folder.path().join("real")).unwrap();
    symlink(folder.path().join("real"), folder.path().join("link")).unwrap();
    write(&folder.path().join("link"), &[("index.html", "x")]).unwrap();
    assert!(fs::symlink_metadata(folder.path().join("link")).unwrap().is_symlink());
    assert_eq!(tree(&folder.path().join("real"))["index.html"], "x");
}

#[test]
fn one_file_is_replaced_whole() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("a.md");
    fs::write(&file, "old").unwrap();
    fs::set_permissions(&file, fs::Permissions::from_mode(0o640)).unwrap();
    symlink(&file, folder.path().join("link.md")).unwrap();
    replace_file(&folder.path().join("link.md"), b"new").unwrap();
    assert_eq!(fs::read_to_string(&file).unwrap(), "new");
    assert_eq!(fs::metadata(&file).unwrap().permissions().mode() & 0o777, 0o640);
    assert_eq!(names(folder.path()), ["a.md", "link.md"]);
    // A name as long as names can be, what a program that died here left, and what one that runs is still writing.
    let long = folder.path().join(format!("{}.yaml", "x".repeat(250)));
    let (dead, alive) = (".ruleout-4194305-0", format!(".ruleout-{}-999999", std::process::id()));
    for name in [dead, &alive] {
        fs::write(folder.path().join(name), "half").unwrap();
    }
    replace_file(&long, b"x").unwrap();
    assert_eq!(names(folder.path()), [alive.as_str(), "a.md", "link.md", long.file_name().unwrap().to_str().unwrap()]);
    let error = replace_file(&folder.path().join("no/such/place.md"), b"x").unwrap_err();
    assert!(error.contains("place.md"), "{error}");
}

#[test]
fn a_new_file_stands_whole_or_not_at_all() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("b.md"), "mine").unwrap();
    let error = new_files(folder.path(), &[("a.md", "one"), ("sub/c.md", "two"), ("b.md", "three")]).unwrap_err();
    assert!(error.contains("b.md") && error.contains("nothing is overwritten"), "{error}");
    assert_eq!(
        (names(folder.path()), fs::read_to_string(folder.path().join("b.md")).unwrap()),
        (vec!["b.md".into()], "mine".into())
    );
    // Whoever looks meanwhile sees no half of it: the name comes with the last byte.
    let (file, text) = (folder.path().join("a.md"), "x".repeat(8 << 20));
    std::thread::scope(|scope| {
        let watch = scope.spawn(|| {
            loop {
                if let Ok(data) = fs::metadata(&file) {
                    return data.len();
                }
            }
        });
        new_files(folder.path(), &[("a.md", &text)]).unwrap();
        assert_eq!(watch.join().unwrap(), text.len() as u64);
    });
    assert_eq!(names(folder.path()), ["a.md", "b.md"]);
}
