//! One file per rule, its page beside it (`reading_gap.rs`, `reading_gap.md`).
//!
//! In: a unit or the whole base. Out: findings. To add a rule: the file, the page, a line here.

mod bad_front_matter;
mod bad_value;
mod blocked_bay;
mod broken_link;
mod case_astray;
mod coarse_instrument;
mod dead_result;
mod duplicate_id;
mod endless_loop;
mod hazard_conflict;
mod heading_without_step;
mod high_voltage;
mod impossible_cause;
mod misquoted_value;
mod missing_figure;
mod missing_value;
mod never_found;
mod no_alt_text;
mod no_confirmation;
mod no_fix;
mod no_minutes;
mod no_news;
mod no_way_out;
mod nothing_left;
mod out_of_range;
mod out_of_turn;
mod placeholder_value;
mod raw_html;
mod reading_gap;
mod reading_overlap;
mod rounding_gap;
mod ruled_out_verdict;
mod slow_order;
mod some_shares;
mod stale_review;
mod step_without_heading;
mod too_few_trips;
mod unknown_key;
mod unlifted_hazard;
mod unreachable_step;
mod unresolved_name;
mod unsourced_value;
mod unsupported_verdict;
mod untried_results;
mod unused_allowance;
mod unused_entry;
mod wrong_unit;

use super::Rule;

/// Every rule, by family as language.md lists them.
pub static RULES: &[&Rule] = &[
    &bad_front_matter::RULE,
    &unknown_key::RULE,
    &bad_value::RULE,
    &duplicate_id::RULE,
    &unresolved_name::RULE,
    &step_without_heading::RULE,
    &heading_without_step::RULE,
    &some_shares::RULE,
    &unreachable_step::RULE,
    &dead_result::RULE,
    &no_way_out::RULE,
    &endless_loop::RULE,
    &out_of_turn::RULE,
    &blocked_bay::RULE,
    &missing_value::RULE,
    &misquoted_value::RULE,
    &wrong_unit::RULE,
    &reading_gap::RULE,
    &reading_overlap::RULE,
    &rounding_gap::RULE,
    &placeholder_value::RULE,
    &unsourced_value::RULE,
    &unused_entry::RULE,
    &unsupported_verdict::RULE,
    &ruled_out_verdict::RULE,
    &never_found::RULE,
    &impossible_cause::RULE,
    &nothing_left::RULE,
    &no_news::RULE,
    &out_of_range::RULE,
    &coarse_instrument::RULE,
    &hazard_conflict::RULE,
    &high_voltage::RULE,
    &unlifted_hazard::RULE,
    &too_few_trips::RULE,
    &no_fix::RULE,
    &no_confirmation::RULE,
    &slow_order::RULE,
    &no_minutes::RULE,
    &broken_link::RULE,
    &missing_figure::RULE,
    &no_alt_text::RULE,
    &raw_html::RULE,
    &case_astray::RULE,
    &stale_review::RULE,
    &unused_allowance::RULE,
    &untried_results::RULE,
];
