//! The best order and the testability figures against published values (tables under `tests/outside`).
#![allow(clippy::unwrap_used, reason = "a helper of a test fails as the test does")]

use ruleout::order::best::{Best, Effort, THOROUGH, best};
use ruleout::order::bits::Bits;
use ruleout::order::bound::huffman;
use ruleout::order::guess::Guess;
use ruleout::order::outline::Outline;
use ruleout::order::problem::{Problem, Set, Step, first, members};
use ruleout::order::space::Space;
use ruleout::order::testability::testability;
use ruleout::order::tree::Tree;
use serde_json::Value;

const EXAMPLES: &str = include_str!("../outside/order_examples.json");
const TESTABILITY: &str = include_str!("../outside/testability.json");

fn rows(text: &str) -> Vec<Value> {
    serde_json::from_str(text).unwrap()
}

fn numbers(value: &Value) -> Vec<f64> {
    value.as_array().unwrap().iter().map(|number| number.as_f64().unwrap()).collect()
}

fn split(minutes: f64, causes: usize, one: Set) -> Step {
    Step::test(minutes, &[first(causes) & !one, one])
}

/// The causes that have a 1 in each column.
fn columns(row: &Value) -> Vec<Set> {
    let rows: Vec<&str> = row["signatures"].as_array().unwrap().iter().map(|row| row.as_str().unwrap()).collect();
    let seen = |test: usize| move |(_, row): &(usize, &&str)| row.as_bytes()[test] == b'1';
    (0..rows[0].len())
        .map(|test| rows.iter().enumerate().filter(seen(test)).fold(Set::NONE, |set, (cause, _)| set | Set::one(cause)))
        .collect()
}

fn example(row: &Value) -> Problem {
    if row["keys"].is_array() {
        return search_tree(&numbers(&row["keys"]), &numbers(&row["between"]));
    }
    let weights = numbers(&row["weights"]);
    let causes = weights.len();
    let steps = if row["all_splits"] == true {
        (1..1_u128 << (causes - 1)).map(|set| split(1.0, causes, set.into())).collect()
    } else {
        let sets: Vec<Set> = if row["singles"] == true {
            (0..row["minutes"].as_array().unwrap().len()).map(Set::one).collect()
        } else {
            columns(row)
        };
        numbers(&row["minutes"]).into_iter().zip(sets).map(|(minutes, set)| split(minutes, causes, set)).collect()
    };
    Problem { weights, steps, setups: Vec::new() }
}

/// Gap 0, key 1, gap 1, key 2, ...: asking for a key tells below, equal, above.
fn search_tree(keys: &[f64], between: &[f64]) -> Problem {
    let causes = keys.len() + between.len();
    let weights = (0..causes).map(|cause| if cause % 2 == 1 { keys[cause / 2] } else { between[cause / 2] }).collect();
    let ask = |key: usize| {
        let below = first(2 * key + 1);
        Step::test(1.0, &[below, Set::one(2 * key + 1), first(causes) & !first(2 * key + 2)])
    };
    Problem { weights, steps: (0..keys.len()).map(ask).collect(), setups: Vec::new() }
}

fn solve(problem: &Problem) -> Best {
    best(problem, THOROUGH).unwrap()
}

fn near(one: f64, other: f64) -> bool {
    (one - other).abs() <= 1e-9 * other.abs().max(1.0)
}

#[test]
fn published_examples_have_their_published_optimum() {
    for row in rows(EXAMPLES) {
        let problem = example(&row);
        let least = row["least"].as_f64().unwrap();
        for effort in [THOROUGH, Effort { search: 0, ..THOROUGH }] {
            let found = best(&problem, effort).unwrap();
            assert!(found.exact, "{}", row["name"]);
            assert!(near(found.figures.minutes, least), "{}: {} for {least}", row["name"], found.figures.minutes);
        }
    }
}

/// "An optimum of 2.86 is greedy": the most news per test, with news in bits.
#[test]
fn the_published_one_step_order_is_not_mistaken_for_the_best() {
    let rows = rows(EXAMPLES);
    let row = rows.iter().find(|row| row["one_step"].is_number()).unwrap();
    let problem = example(row);
    let greedy = by_news(&problem, problem.all()).figures(&problem).minutes;
    assert!(near(greedy, row["one_step"].as_f64().unwrap()), "{greedy}");
    let space = Space::<u32>::new(&problem, &Outline::new(&problem), false);
    let near = Guess::new(&space, 1000).near(space.start());
    assert!(near >= row["least"].as_f64().unwrap());
}

fn by_news(problem: &Problem, left: Set) -> Tree {
    let weigh = |set: Set| -> f64 { members(set & left).map(|cause| problem.weights[cause]).sum() };
    let news = |step: &Step| -> f64 {
        step.outcomes.iter().map(|&out| weigh(out)).filter(|&mass| mass > 0.0).map(|mass| -mass * mass.log2()).sum()
    };
    let splits = |step: &&Step| step.outcomes.iter().any(|out| out.meets(left) && !left.is_within(*out));
    let steps = problem.steps.iter().filter(splits);
    let Some(most) = steps.max_by(|a, b| (news(a) / a.minutes).total_cmp(&(news(b) / b.minutes))) else {
        return Tree::Stop(left);
    };
    let index = problem.steps.iter().position(|step| std::ptr::eq(step, most)).unwrap();
    let behind = most.outcomes.iter().enumerate().map(|(at, out)| (at, by_news(problem, left & *out)));
    Tree::Ask(index, behind.collect())
}

#[test]
fn checks_in_a_given_order_cost_what_the_rule_says() {
    let rows = rows(EXAMPLES);
    let row = rows.iter().find(|row| row["in_order"].is_object()).unwrap();
    let problem = example(row);
    let mut left = problem.all();
    let mut tree: Vec<(usize, Set)> = Vec::new();
    for step in row["in_order"]["order"].as_array().unwrap() {
        let step = usize::try_from(step.as_u64().unwrap()).unwrap();
        tree.push((step, problem.steps[step].outcomes[1]));
        left &= !problem.steps[step].outcomes[1];
    }
    let tree = tree
        .into_iter()
        .rev()
        .fold(Tree::Stop(left), |then, (step, found)| Tree::Ask(step, vec![(0, then), (1, Tree::Stop(found))]));
    assert!(near(tree.figures(&problem).minutes, row["in_order"]["minutes"].as_f64().unwrap()));
}

/// Entropy ≤ Huffman ≤ best ≤ one-step.
#[test]
fn the_bounds_stand_in_their_order() {
    for row in rows(EXAMPLES).iter().filter(|row| row["signatures"].is_array() || row["all_splits"] == true) {
        let problem = example(row);
        if problem.weights.len() == 7 {
            continue; // some of its causes can't be told apart
        }
        let odds = problem.odds();
        let entropy: f64 = odds.iter().map(|odds| -odds * odds.log2()).sum();
        let code = huffman(&odds, 2);
        let least = solve(&problem).figures.minutes;
        let greedy = by_news(&problem, problem.all()).figures(&problem).minutes;
        assert!(entropy <= code + 1e-12 && code <= least + 1e-12 && least <= greedy + 1e-12, "{}", row["name"]);
    }
}

#[test]
fn testability_figures_are_those_of_the_standards() {
    for row in rows(TESTABILITY) {
        let found = testability(&numbers(&row["weights"]), &columns(&row));
        let ratio = |value: &Value| numbers(value)[0] / numbers(value)[1];
        assert!(near(found.detection, ratio(&row["detection"])));
        for (most, share) in row["isolation"].as_object().unwrap() {
            assert!(near(found.isolation(most.parse().unwrap()), ratio(share)), "to {most}");
        }
        assert!(near(found.mean_group, ratio(&row["mean_group"])));
        assert!(near(found.weighted_group, ratio(&row["weighted_group"])));
        let groups: Vec<Vec<f64>> = row["groups"].as_array().unwrap().iter().map(numbers).collect();
        let ours: Vec<Vec<f64>> =
            found.groups.iter().map(|&group| members(group).map(|cause| cause as f64).collect()).collect();
        assert_eq!(ours, groups);
    }
}
