//! An independent reader of YAML beside ours: `serde_yaml`, told to read every scalar as text.
//!
//! In: every YAML file and front matter of the demonstration, and trees that `serde_yaml` itself wrote. Out: one tree.

use std::fmt;
use std::path::Path;

use proptest::prelude::*;
use ruleout::parse::front_matter;
use ruleout::parse::yaml::{self, Kind, Node};
use ruleout::source::FileId;
use serde::de::{Deserialize, Deserializer, MapAccess, SeqAccess, Visitor};

/// Texts, lists and maps: what both readers must agree on.
#[derive(Clone, Debug, PartialEq, Eq)]
enum Tree {
    Text(String),
    List(Vec<Tree>),
    Map(Vec<(Tree, Tree)>),
}

fn ours(node: &Node) -> Tree {
    match &node.kind {
        Kind::Empty => Tree::Text(String::new()),
        Kind::Scalar(scalar) => Tree::Text(scalar.text.clone()),
        Kind::List(items) => Tree::List(items.iter().map(ours).collect()),
        Kind::Map(entries) => {
            Tree::Map(entries.iter().map(|e| (Tree::Text(e.key.value.clone()), ours(&e.value))).collect())
        }
    }
}

/// A scalar of the other reader, as text whatever it looks like.
struct Text(String);

impl<'de> Deserialize<'de> for Text {
    fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        String::deserialize(from).map(Text)
    }
}

/// The other reader gives a scalar as text only when it is asked for one: the shape of our tree asks, its own tree answers.
struct Like<'n>(&'n Node);

impl<'de> serde::de::DeserializeSeed<'de> for Like<'_> {
    type Value = Tree;

    fn deserialize<D: Deserializer<'de>>(self, from: D) -> Result<Tree, D::Error> {
        match &self.0.kind {
            Kind::Empty | Kind::Scalar(_) => Text::deserialize(from).map(|t| Tree::Text(t.0)),
            Kind::List(_) => from.deserialize_seq(self),
            Kind::Map(_) => from.deserialize_map(self),
        }
    }
}

impl<'de> Visitor<'de> for Like<'_> {
    type Value = Tree;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.0.what())
    }

    fn visit_seq<A: SeqAccess<'de>>(self, mut from: A) -> Result<Tree, A::Error> {
        let mut items = Vec::new();
        for item in self.0.as_list() {
            items.extend(from.next_element_seed(Like(item))?);
        }
        while let Some(more) = from.next_element::<Text>()? {
            items.push(Tree::Text(more.0));
        }
        Ok(Tree::List(items))
    }

    fn visit_map<A: MapAccess<'de>>(self, mut from: A) -> Result<Tree, A::Error> {
        let mut entries = Vec::new();
        for entry in self.0.entries() {
            if let Some(key) = from.next_key::<Text>()? {
                entries.push((Tree::Text(key.0), from.next_value_seed(Like(&entry.value))?));
            }
        }
        while let Some(more) = from.next_key::<Text>()? {
            entries.push((Tree::Text(more.0), Tree::Text(from.next_value::<Text>()?.0)));
        }
        Ok(Tree::Map(entries))
    }
}

fn theirs(text: &str, like: &Node) -> Result<Tree, serde_yaml::Error> {
    serde::de::DeserializeSeed::deserialize(Like(like), serde_yaml::Deserializer::from_str(text))
}

fn files(folder: &Path, out: &mut Vec<std::path::PathBuf>) {
    for entry in std::fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() { files(&path, out) } else { out.push(path) }
    }
}

#[test]
fn every_file_of_the_demonstration_reads_the_same() {
    let mut all = Vec::new();
    files(&Path::new(env!("CARGO_MANIFEST_DIR")).join("kb"), &mut all);
    all.sort();
    let mut compared = 0;
    for path in all {
        let is = |ending: &str| path.extension().is_some_and(|e| e == ending);
        if !is("yaml") && !is("md") {
            continue;
        }
        let text = std::fs::read_to_string(&path).unwrap();
        let range = if is("md") { front_matter::split(FileId(0), &text).yaml } else { Some(0..text.len()) };
        let Some(range) = range else { continue };
        let yaml = &text[range];
        let (tree, problems) = yaml::parse(FileId(0), yaml, 0);
        assert!(problems.is_empty(), "{}: {problems:?}", path.display());
        let Some(tree) = tree else { continue };
        assert_eq!(ours(&tree), theirs(yaml, &tree).unwrap(), "{}", path.display());
        compared += 1;
    }
    assert!(compared > 300, "only {compared} files were compared");
}

fn value() -> impl Strategy<Value = serde_yaml::Value> {
    let word = prop_oneof![
        "[a-z][a-z0-9 -]{0,8}[a-z]",
        "[ -~äΩ°µ\n]{1,12}",
        prop::sample::select(vec![
            "yes", "null", "~", "1e3", "0451", "1:30", "12.4 V", "a: b", "x #y", "- a", "{a", "\"", "'", "!t", "&a"
        ])
        .prop_map(str::to_owned),
    ];
    let leaf = word.prop_map(serde_yaml::Value::String);
    leaf.prop_recursive(5, 40, 5, |inner| {
        prop_oneof![
            prop::collection::vec(inner.clone(), 1..5).prop_map(serde_yaml::Value::Sequence),
            prop::collection::btree_map("[a-z][a-z0-9 -]{0,6}[a-z0-9]", inner, 1..5)
                .prop_map(|map| { serde_yaml::Value::Mapping(map.into_iter().map(|(k, v)| (k.into(), v)).collect()) }),
        ]
    })
}

/// What was written, with scalars as they are.
fn meant(value: &serde_yaml::Value) -> Tree {
    match value {
        serde_yaml::Value::Sequence(items) => Tree::List(items.iter().map(meant).collect()),
        serde_yaml::Value::Mapping(map) => Tree::Map(map.iter().map(|(k, v)| (meant(k), meant(v))).collect()),
        other => Tree::Text(other.as_str().unwrap_or_default().to_owned()),
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 512, failure_persistence: None, ..ProptestConfig::default() })]

    /// What the other one wrote, we read as it was meant, or refuse with a reason (its escapes, our traps).
    #[test]
    fn a_tree_that_the_other_wrote_is_read_as_meant(value in value()) {
        let text = serde_yaml::to_string(&value).unwrap();
        let (tree, problems) = yaml::parse(FileId(0), &text, 0);
        if problems.is_empty() {
            let tree = tree.unwrap();
            prop_assert_eq!(ours(&tree), meant(&value), "{}", text);
        }
    }
}

/// How many of the trees above are read: most, or the law above says nothing.
#[test]
fn most_trees_that_the_other_wrote_are_read() {
    use proptest::strategy::ValueTree;
    let mut runner = proptest::test_runner::TestRunner::deterministic();
    let mut refused = Vec::new();
    for _ in 0..400 {
        let text = serde_yaml::to_string(&value().new_tree(&mut runner).unwrap().current()).unwrap();
        if let Some(problem) = yaml::parse(FileId(0), &text, 0).1.first() {
            refused.push(format!("{text}{}", problem.message));
        }
    }
    assert!(refused.len() < 200, "{}:\n{}", refused.len(), refused.join("\n\n"));
}
