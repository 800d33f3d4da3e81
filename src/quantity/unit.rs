//! Units: found by their spelling, converted exactly.

use std::fmt;
use std::sync::LazyLock;

use rustc_hash::FxHashMap;

use super::unit_table::{self, Row};
use super::{Quantity, Rational, number};

/// A unit with its prefix: `kPa`. Cheap to copy; ordered as in the table.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Unit(u16);

/// Why a text is no unit of a quantity.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum UnknownUnit {
    /// It is a unit, but of another quantity.
    Other(Unit),
    /// It is none; perhaps this one was meant (another case, a trade spelling).
    Meant(Unit),
    /// It is none.
    Nothing,
}

struct Entry {
    symbol: String,
    factor: Rational,
    row: &'static Row,
}

struct Table {
    entries: Vec<Entry>,
    by_spelling: FxHashMap<String, Unit>,
}

static TABLE: LazyLock<Table> = LazyLock::new(|| {
    let mut entries = vec![Entry { symbol: String::new(), factor: Rational::one(), row: &unit_table::NONE }];
    for row in unit_table::ROWS {
        for prefix in row.prefixes.split(' ') {
            let factor = row_factor(row) * unit_table::prefix_factor(prefix);
            entries.push(Entry { symbol: format!("{prefix}{}", row.symbol), factor, row });
        }
    }
    let by_spelling = (0..).zip(&entries).map(|(index, entry)| (spelling(&entry.symbol), Unit(index))).collect();
    Table { entries, by_spelling }
});

fn row_factor(row: &Row) -> Rational {
    number::ratio(row.factor.0, row.factor.1)
}

impl Unit {
    /// The unit of quantities that have none.
    pub const NONE: Unit = Unit(0);

    /// The unit that a text names for a quantity. Look-alike letters, `ohm`, a dot typed as `.` or `*`, and `2` for `²` are the same.
    pub fn find(text: &str, quantity: Quantity) -> Result<Unit, UnknownUnit> {
        // Mostly a unit is typed as the table spells it.
        if let Some(unit) = TABLE.by_spelling.get(text).filter(|unit| unit.serves(quantity)) {
            return Ok(*unit);
        }
        let text = spelling(text);
        match TABLE.by_spelling.get(&text).copied() {
            Some(unit) if unit.serves(quantity) => Ok(unit),
            Some(Unit::NONE) => Err(UnknownUnit::Nothing),
            found => match meant(&text, quantity) {
                Some(unit) => Err(UnknownUnit::Meant(unit)),
                None => Err(found.map_or(UnknownUnit::Nothing, UnknownUnit::Other)),
            },
        }
    }

    /// All units of a quantity, in the order of the table; [`Unit::NONE`] for a quantity without.
    pub fn all_of(quantity: Quantity) -> impl Iterator<Item = Unit> {
        (0..TABLE.entries.len() as u16).map(Unit).filter(move |unit| unit.serves(quantity))
    }

    /// The units that a technician would pick from, smallest first; the first of [`Unit::default_of`] is among them.
    pub fn common_of(quantity: Quantity) -> Vec<Unit> {
        let (_, common) = unit_table::common(quantity);
        common.iter().filter_map(|symbol| Unit::find(symbol, quantity).ok()).collect()
    }

    /// The unit to show where the shop names none.
    pub fn default_of(quantity: Quantity) -> Unit {
        let (default, _) = unit_table::common(quantity);
        Unit::find(default, quantity).unwrap_or(Unit::NONE)
    }

    /// The symbol as we write it: `kΩ`, `N·m`; empty for none.
    pub fn symbol(self) -> &'static str {
        self.entry().map_or("", |entry| &entry.symbol)
    }

    /// Where the conversion factor is defined.
    pub fn source(self) -> &'static str {
        self.row().source
    }

    /// The quantities that are read in this unit.
    pub fn quantities(self) -> &'static [Quantity] {
        self.row().quantities
    }

    /// Whether the quantity is read in this unit.
    pub fn serves(self, quantity: Quantity) -> bool {
        self.quantities().contains(&quantity)
    }

    /// How much of the base unit one step of this unit is.
    pub fn scale(self) -> Rational {
        self.entry().map_or_else(Rational::one, |entry| entry.factor.clone())
    }

    /// A number in this unit as a value in the base unit. Only a temperature has an offset; a temperature difference has none.
    pub fn to_base(self, number: &Rational, quantity: Quantity) -> Rational {
        (number + self.offset(quantity)) * self.scale()
    }

    /// A value in the base unit as a number in this unit.
    pub fn from_base(self, value: &Rational, quantity: Quantity) -> Rational {
        value / self.scale() - self.offset(quantity)
    }

    /// A value in the base unit, written in this unit: exact where the decimal ends, else rounded.
    pub fn show(self, value: &Rational, quantity: Quantity) -> String {
        self.join(&number::show(&self.from_base(value, quantity)))
    }

    /// A written number with this unit behind it.
    pub fn join(self, number: &str) -> String {
        if self == Unit::NONE { number.to_owned() } else { format!("{number} {}", self.symbol()) }
    }

    fn offset(self, quantity: Quantity) -> Rational {
        match quantity {
            Quantity::Temperature => number::ratio(self.row().zero.0, self.row().zero.1),
            _ => Rational::zero(),
        }
    }

    fn entry(self) -> Option<&'static Entry> {
        TABLE.entries.get(usize::from(self.0))
    }

    fn row(self) -> &'static Row {
        self.entry().map_or(&unit_table::NONE, |entry| entry.row)
    }
}

impl fmt::Debug for Unit {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "Unit({})", self.symbol())
    }
}

/// One spelling for all ways to type a unit: look-alike letters, dots, exponents, `ohm`, spaces.
fn spelling(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for letter in text.chars() {
        match letter {
            '\u{2126}' => out.push('Ω'),
            '\u{3bc}' => out.push('µ'),
            '.' | '*' | '\u{22c5}' | '\u{2219}' => out.push('·'),
            '²' => out.push('2'),
            '³' => out.push('3'),
            'º' | '˚' => out.push('°'),
            '℃' => out.push_str("°C"),
            '℉' => out.push_str("°F"),
            '\u{212a}' => out.push('K'),
            other => out.push(other),
        }
    }
    let words: Vec<&str> = out.split_whitespace().collect();
    let mut out = words.join(" ");
    for sign in ["·", "/"] {
        if out.contains(sign) {
            out = out.split(sign).map(str::trim).collect::<Vec<_>>().join(sign);
        }
    }
    match out.strip_suffix("ohm") {
        Some(prefix) => format!("{prefix}Ω"),
        None => out,
    }
}

/// The one unit of the quantity that a wrong spelling most likely means.
fn meant(text: &str, quantity: Quantity) -> Option<Unit> {
    if text.is_empty() || text.len() > 30 {
        return None;
    }
    let lower = text.to_lowercase();
    let slang = unit_table::SLANG.iter().filter(|(slang, _)| *slang == lower).map(|(_, symbol)| *symbol);
    if let Some(unit) =
        slang.filter_map(|symbol| TABLE.by_spelling.get(&spelling(symbol)).copied()).find(|unit| unit.serves(quantity))
    {
        return Some(unit);
    }
    let mut alike =
        Unit::all_of(quantity).filter(|unit| spelling(unit.symbol()).to_lowercase() == spelling(&lower).to_lowercase());
    let first = alike.next()?;
    alike.next().is_none().then_some(first)
}
