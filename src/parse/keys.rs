//! Which keys stand where, and what kind of value each takes.
//!
//! In: nothing (a table). Out: [`Keys`] per kind of row. [`shape`](super::shape) checks files against it;
//! completion, hover and the JSON Schema read the same table.

/// What stands behind a key.
#[derive(Clone, Copy, Debug)]
pub enum Shape {
    /// Free text.
    Text,
    /// The name of something in the base, or an amount or reading: text that a later stage reads.
    Word,
    /// A number that is not negative.
    Number,
    /// A whole number that is not negative.
    Whole,
    /// One of these words.
    OneOf(&'static [&'static str]),
    /// A list; one item may stand for a list of one.
    List(&'static Shape),
    /// A row with fixed keys.
    Row(&'static Keys),
    /// Rows by id: what one is called, and its shape.
    Rows(&'static str, &'static Shape),
    /// Rows by a free name (a quantity, a rule, a band, a step).
    Named(&'static str, &'static Shape),
    /// A text, or else this.
    TextOr(&'static Shape),
}

/// One key.
#[derive(Clone, Copy, Debug)]
pub struct Key {
    /// As written.
    pub name: &'static str,
    /// Whether a row without it is wrong.
    pub required: bool,
    /// What stands behind it.
    pub shape: Shape,
    /// What it means, one line.
    pub doc: &'static str,
}

/// The keys of one kind of row.
#[derive(Debug)]
pub struct Keys {
    /// "a step".
    pub of: &'static str,
    /// In the order of the documentation.
    pub keys: &'static [Key],
}

impl Keys {
    /// The key of this name.
    pub fn get(&self, name: &str) -> Option<&'static Key> {
        self.keys.iter().find(|k| k.name == name)
    }

    /// Whether a row of this kind may hold no key at all: none is required, nor one of several kinds.
    pub fn needs_none(&self) -> bool {
        self.keys.iter().all(|k| !k.required && k.name != MEASURE.name)
    }
}

const fn key(name: &'static str, shape: Shape, doc: &'static str) -> Key {
    Key { name, required: false, shape, doc }
}

const fn required(name: &'static str, shape: Shape, doc: &'static str) -> Key {
    Key { name, required: true, shape, doc }
}

const WORDS: Shape = Shape::List(&Shape::Word);
const TEXTS: Shape = Shape::List(&Shape::Text);
const HAZARDS: Key = key("hazards", WORDS, "hazards met here");
const AWAY: Key = key("away-from", WORDS, "hazards that do not apply here");
const TITLE: Key = key("title", Shape::Text, "how people call it");
const ALSO: Key = key("also", TEXTS, "other words for it, for search");
const WITH: Key = key("with", WORDS, "equipment needed; `a or b` gives alternatives");
const SETUP: Key = key("setup", WORDS, "preparations needed");
const MINUTES: Key = key("minutes", Shape::Number, "minutes of work");
const WAIT: Key = key("wait", Shape::Number, "minutes of waiting inside the step");
const UNDO: Key = key("undo", Shape::Text, "what must be put back");
const RECORD: Key = key("record", TEXTS, "fields to fill in for the write-up");
const FIGURE: Key = key("figure", Shape::Word, "a picture under figures/");
const CHANGES: Key = key("changes", WORDS, "readings that must be taken again afterwards; `all` for every one");
const MEASURE: Key = key("measure", Shape::TextOr(&INLINE_ROW), "take a reading: a spec, or a quantity used only here");
const OBSERVE: Key = key("observe", Shape::Text, "look, listen, feel, ask, read a display");
const DO: Key = key("do", Shape::Text, "an action without a result");
const CONFIRM: Key = key("confirm", Shape::List(&CONFIRM_ROW), "a step and the result that must be seen");
static INLINE_ROW: Shape = Shape::Row(&INLINE);
static CONFIRM_ROW: Shape = Shape::Row(&CONFIRMS);
const CODES_CLEAR: Key = key("codes", Shape::OneOf(&["clear"]), "`clear`: clear the fault codes");
const TRIPS: Key = key("trips", Shape::Whole, "trips to drive");
const QUANTITY: Key = required("quantity", Shape::Word, "what is measured");
const AT: Key = key("at", Shape::Text, "where on the vehicle");
const WHEN: Key = key("when", Shape::Text, "under which condition");
const SOURCE: &str = "where the value comes from";

/// The front matter of a procedure.
pub static PROCEDURE: Keys = Keys {
    of: "a procedure",
    keys: &[
        required("complaint", Shape::Text, "what the customer complains of"),
        key("also", TEXTS, "the customer's words, for search"),
        key("codes", WORDS, "fault codes"),
        key("applies", WORDS, "vehicles or groups; `all` for every vehicle"),
        key("system", Shape::Word, "the system it is about"),
        HAZARDS,
        required("causes", Shape::Rows("cause", &Shape::Row(&CAUSE)), "what may be wrong"),
        required("steps", Shape::Rows("step", &Shape::Row(&STEP)), "the steps; the first is the start"),
        key("after-repair", Shape::Row(&AFTER), "how a repair is confirmed"),
        key("allow", Shape::Named("rule", &Shape::Text), "rules that may be broken here, each with a reason"),
        key("reviewed", Shape::Row(&REVIEWED), "the record of a review"),
    ],
};

/// A cause.
pub static CAUSE: Keys = Keys {
    of: "a cause",
    keys: &[
        TITLE,
        key("share", Shape::Number, "how often it is this one, in parts"),
        key("fix", Shape::Word, "a heading in the body, or a shared repair"),
        key("for", WORDS, "vehicles or groups it exists on"),
        key("part", Shape::Row(&PART), "the part that would be fitted"),
        ALSO,
    ],
};

/// A part.
pub static PART: Keys = Keys {
    of: "a part",
    keys: &[
        key("name", Shape::Text, "its name"),
        key("number", Shape::Text, "its number"),
        key("price", Shape::Number, "its price in the shop's currency"),
        key("minutes", Shape::Number, "minutes to fit it"),
    ],
};

/// A step of a procedure.
pub static STEP: Keys = Keys {
    of: "a step",
    keys: &[
        MEASURE,
        OBSERVE,
        DO,
        key("check", Shape::Word, "a shared check"),
        key("which", Shape::OneOf(&["vehicle"]), "`vehicle`: routes by vehicle"),
        key("results", Shape::List(&Shape::Row(&RESULT)), "what each reading means"),
        key("then", Shape::Word, "the next step (of a `do`)"),
        WITH,
        key("without", Shape::TextOr(&Shape::Row(&ENDING)), "the way of a bay that lacks the equipment"),
        SETUP,
        MINUTES,
        WAIT,
        HAZARDS,
        AWAY,
        key("after", WORDS, "never before these steps"),
        CHANGES,
        UNDO,
        key("undoes", WORDS, "steps whose `undo` this one does"),
        RECORD,
        FIGURE,
    ],
};

/// A reading used only in one step.
pub static INLINE: Keys = Keys { of: "a reading", keys: &[QUANTITY, AT, WHEN, key("source", Shape::Text, SOURCE)] };

/// A result of a step.
pub static RESULT: Keys = Keys {
    of: "a result",
    keys: &[
        key("if", Shape::Word, "the reading or label"),
        key("for", WORDS, "vehicles or groups, or `any other vehicle`"),
        key("clears", WORDS, "causes ruled out"),
        key("leaves", WORDS, "the only causes left"),
        key("then", Shape::Word, "the next step, or `procedure/`"),
        key("shows", Shape::Word, "a verdict by direct evidence"),
        key("found", WORDS, "a verdict by elimination; `what is left`"),
        key("normal", Shape::Text, "the system works as it should"),
        key("unproven", Shape::Text, "the fault did not show itself"),
        key("refer", Shape::Text, "hand over to"),
        key("note", Shape::Text, "shown with the result"),
    ],
};

/// An ending, as in `without: {refer: ...}`.
pub static ENDING: Keys = Keys {
    of: "an ending",
    keys: &[
        key("then", Shape::Word, "another procedure, `procedure/`"),
        key("shows", Shape::Word, "a verdict by direct evidence"),
        key("found", WORDS, "a verdict by elimination; `what is left`"),
        key("normal", Shape::Text, "the system works as it should"),
        key("unproven", Shape::Text, "the fault did not show itself"),
        key("refer", Shape::Text, "hand over to"),
    ],
};

/// `after-repair`.
pub static AFTER: Keys = Keys { of: "`after-repair`", keys: &[CONFIRM, CODES_CLEAR, TRIPS] };

/// One line of `confirm`.
pub static CONFIRMS: Keys = Keys {
    of: "a line of `confirm`",
    keys: &[
        key("step", Shape::Word, "the step to take again"),
        key("check", Shape::Word, "or a shared check (in a shared repair)"),
        required("if", Shape::Word, "the result that must be seen, as written there"),
    ],
};

/// `reviewed`.
pub static REVIEWED: Keys = Keys {
    of: "`reviewed`",
    keys: &[
        required("by", Shape::Text, "who reviewed it"),
        required("on", Shape::Word, "when, as 2031-05-04"),
        key("of", Shape::Word, "digest of what was reviewed"),
    ],
};

/// The front matter of a shared check.
pub static CHECK: Keys = Keys {
    of: "a check",
    keys: &[
        TITLE,
        MEASURE,
        OBSERVE,
        DO,
        WITH,
        key("without", Shape::TextOr(&Shape::Row(&ENDING)), "the ending of a bay that lacks the equipment"),
        SETUP,
        MINUTES,
        WAIT,
        HAZARDS,
        AWAY,
        CHANGES,
        UNDO,
        RECORD,
        FIGURE,
    ],
};

/// The front matter of a shared repair.
pub static REPAIR: Keys =
    Keys { of: "a repair", keys: &[TITLE, WITH, MINUTES, HAZARDS, CONFIRM, CODES_CLEAR, TRIPS, UNDO] };

/// The front matter of a system.
pub static SYSTEM: Keys = Keys { of: "a system", keys: &[TITLE, HAZARDS] };

/// A spec.
pub static SPEC: Keys = Keys {
    of: "a spec",
    keys: &[
        TITLE,
        QUANTITY,
        AT,
        WHEN,
        key("of", Shape::Word, "the quantity of the parts of a worked-out reading"),
        key("names", TEXTS, "the names of the parts"),
        key("take", Shape::OneOf(&["lowest of highest", "difference", "spread"]), "how it is worked out"),
        key("value", Shape::TextOr(&BANDS), "the limits, for every vehicle"),
        key("values", Shape::Named("vehicle or group", &Shape::TextOr(&BANDS)), "the limits, per vehicle or group"),
        required("source", Shape::Text, SOURCE),
    ],
};

/// `{in spec: ..., weak: ...}`.
pub static BANDS: Shape = Shape::Named("band", &Shape::Word);

/// A case.
pub static CASE: Keys = Keys {
    of: "a case",
    keys: &[
        required("procedure", Shape::Word, "the procedure that was worked"),
        key("vehicle", Shape::Word, "the vehicle"),
        required("readings", Shape::Named("step", &TEXTS), "the reading at each step; a list where it came again"),
        required("cause", Shape::Word, "what it was, or `no-fault`"),
        key("minutes", Shape::Number, "how long it took"),
        key("note", Shape::Text, "anything worth keeping"),
    ],
};

/// `shop.yaml`.
pub static SHOP: Keys = Keys {
    of: "`shop.yaml`",
    keys: &[
        key("title", Shape::Text, "the site's title"),
        key("currency", Shape::Text, "currency of prices"),
        key("labour-rate", Shape::Number, "per hour"),
        key("default-minutes", Shape::Number, "for tests without minutes"),
        key("units", Shape::Named("quantity", &Shape::Word), "the unit each quantity is read in"),
        key("bays", Shape::Rows("bay", &Shape::Row(&BAY)), "bays and what each has"),
        key("rules", Shape::Named("rule", &Shape::OneOf(&["error", "warning", "note", "off"])), "rule levels"),
        key("feedback", Shape::Text, "address for \"something wrong on this page\""),
    ],
};

/// A bay.
pub static BAY: Keys = Keys { of: "a bay", keys: &[TITLE, key("has", WORDS, "the equipment at hand there")] };

/// A vehicle.
pub static VEHICLE: Keys = Keys { of: "a vehicle", keys: &[TITLE, key("groups", WORDS, "the groups it belongs to")] };

/// A fault code.
pub static CODE: Keys = Keys {
    of: "a fault code",
    keys: &[
        TITLE,
        key("trips", Shape::Whole, "trips to set it"),
        key("monitor", Shape::Text, "conditions under which the monitor runs"),
        key("own-form", Shape::OneOf(&["yes", "no"]), "a maker's own code of another form"),
    ],
};

/// An instrument.
pub static EQUIPMENT: Keys = Keys {
    of: "an instrument",
    keys: &[TITLE, key("measures", Shape::Named("quantity", &Shape::Row(&MEASURES)), "what it measures"), HAZARDS],
};

/// What an instrument can do for one quantity.
pub static MEASURES: Keys = Keys {
    of: "what an instrument measures",
    keys: &[
        key("range", Shape::Word, "what it can show, `0 to 600 V`"),
        key("resolution", Shape::Word, "the smallest step it shows"),
        key("accuracy", Shape::Word, "`0.5 % + 2 digits`"),
    ],
};

/// A setup.
pub static SETUPS: Keys = Keys {
    of: "a setup",
    keys: &[TITLE, MINUTES, WITH, HAZARDS, AWAY, key("ends", WORDS, "setups that it ends"), UNDO],
};

/// A hazard.
pub static HAZARD: Keys = Keys {
    of: "a hazard",
    keys: &[
        TITLE,
        required("signal", Shape::OneOf(&["danger", "warning", "caution", "notice"]), "the signal word"),
        required("text", Shape::Text, "what to say"),
        key("never-with", WORDS, "hazards it must never meet"),
    ],
};

/// A term.
pub static TERM: Keys = Keys { of: "a term", keys: &[TITLE, ALSO, key("means", Shape::Text, "what it means")] };

/// Every kind of row, for "that key belongs to ...".
pub static ALL: [&Keys; 24] = [
    &PROCEDURE, &CAUSE, &PART, &STEP, &INLINE, &RESULT, &ENDING, &AFTER, &CONFIRMS, &REVIEWED, &CHECK, &REPAIR,
    &SYSTEM, &SPEC, &CASE, &SHOP, &BAY, &VEHICLE, &CODE, &EQUIPMENT, &MEASURES, &SETUPS, &HAZARD, &TERM,
];
