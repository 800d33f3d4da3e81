//! What the page needs to work a job: the procedure as its thinking sees it, per class of vehicles.
//!
//! In: a procedure that was analysed. Out: [`JobData`]. Numbers are exact, as `numerator/denominator` of the base unit, and readings are cut
//! into the same cells that the compiler's walk knows, so that page and compiler can't differ.

use std::collections::BTreeMap;

use super::frame::Frame;
use super::job_data::{
    CauseData, CellData, ClassData, EdgeData, EquipmentData, JobData, KeyData, Meeting, PartsData, QuantityData,
    ResultData, SetupData, StepData, UnitData, WayData,
};
use super::job_repair::{after, monitors, part, repair};
use super::limits;
use super::page::Link;
use crate::graph::Analysis;
use crate::graph::classes::{Class, Meets, Memory};
use crate::model::{
    Condition, Equipment, EquipmentIx, Kind, Limits, Measure, Procedure, Set, Setup, Step, StepIx, Take, VehicleIx, Way,
};
use crate::quantity::{Amount, CellSet, Cells, Edge, Phrase, Quantity, Rational, Unit, number};
use crate::source::Spanned;

/// What the page needs to work a job; nothing where the procedure's names do not all resolve.
pub fn job(frame: &Frame<'_>, analysis: &Analysis<'_>) -> Option<JobData> {
    let procedure = analysis.procedure;
    if !procedure.sound || procedure.steps.is_empty() {
        return None;
    }
    let mut planner = Planner { frame, procedure, quantities: BTreeMap::new() };
    let steps = procedure.steps.indexes().map(|ix| planner.step(ix)).collect();
    let with = procedure.steps.iter().flat_map(|(_, _, s)| s.all_equipment().iter().collect::<Vec<_>>());
    let equipment: Set<Equipment> = with.collect();
    let setups: Set<Setup> =
        procedure.steps.iter().flat_map(|(_, _, s)| &s.shared.setup).map(|setup| setup.value).collect();
    let base = frame.base;
    Some(JobData {
        id: procedure.id.clone(),
        title: procedure.title.clone(),
        complaint: procedure.complaint.value.clone(),
        codes: procedure.codes.iter().map(|c| base.codes.id(c.value).to_owned()).collect(),
        after: after(frame, procedure, &procedure.after_repair),
        monitors: monitors(frame, procedure),
        causes: planner.causes(),
        equipment: equipment
            .iter()
            .map(|ix| EquipmentData { id: base.equipment.id(ix).to_owned(), title: base.equipment[ix].title.clone() })
            .collect(),
        setups: setups.iter().map(|ix| planner.setup(ix)).collect(),
        steps,
        quantities: planner.quantities,
        classes: analysis.classes.iter().map(|(class, _)| class_data(frame, procedure, class)).collect(),
    })
}

/// `numerator/denominator`, the denominator left out where it is one.
fn exact(value: &Rational) -> String {
    value.to_string()
}

struct Planner<'a> {
    frame: &'a Frame<'a>,
    procedure: &'a Procedure,
    quantities: BTreeMap<&'static str, QuantityData>,
}

impl Planner<'_> {
    fn causes(&self) -> Vec<CauseData> {
        let rows = self.procedure.causes.iter().map(|(_, id, cause)| CauseData {
            id: id.to_owned(),
            title: cause.title.clone(),
            fix: cause.fix.as_ref().and_then(|fix| repair(self.frame, self.procedure, &fix.value)),
            part: part(cause),
        });
        rows.collect()
    }

    fn setup(&self, ix: crate::model::SetupIx) -> SetupData {
        let base = self.frame.base;
        let row = &base.setups[ix];
        SetupData {
            id: base.setups.id(ix).to_owned(),
            title: row.title.clone(),
            ends: row.ends.iter().map(|e| base.setups.id(e.value).to_owned()).collect(),
            undo: row.undo.as_ref().map(|undo| undo.value.clone()),
            cautions: self.frame.cautions(row.hazards.iter().map(|h| h.value)),
        }
    }

    fn step(&mut self, ix: StepIx) -> StepData {
        let procedure = self.procedure;
        let base = self.frame.base;
        let step = &procedure.steps[ix];
        let kind = match step.kind {
            Kind::Measure(_) => "measure",
            Kind::Observe(_) => "observe",
            Kind::Do(_) => "do",
            Kind::Which => "which",
        };
        let measure = step.measure();
        let parts = measure.and_then(|m| self.parts(step, m));
        let id = |s: &Spanned<StepIx>| procedure.steps.id(s.value).to_owned();
        let equipment = |all: &Vec<EquipmentIx>| all.iter().map(|e| base.equipment.id(*e).to_owned()).collect();
        StepData {
            id: procedure.steps.id(ix).to_owned(),
            title: step.title.clone(),
            kind,
            quantity: measure.map(|m| self.quantity(m.quantity)),
            unit: measure.map(|m| offered(self.frame, step, m).symbol()),
            parts,
            results: step.results.iter().map(|result| self.result(result)).collect(),
            without: step.without.as_ref().map(|without| self.way(&without.way)),
            with: step.shared.with.iter().map(|with| equipment(&with.value)).collect(),
            setup: step.shared.setup.iter().map(|s| base.setups.id(s.value).to_owned()).collect(),
            undo: step.shared.undo.as_ref().map(|undo| undo.value.clone()),
            undoes: step.undoes.iter().map(id).collect(),
            record: step.shared.record.clone(),
            wait: step.shared.wait.as_ref().map(number::to_f64),
        }
    }

    fn parts(&mut self, step: &Step, measure: &Measure) -> Option<PartsData> {
        let worked_out = self.frame.base.specs[measure.spec.as_ref()?.value].worked_out.as_ref()?;
        Some(PartsData {
            of: self.quantity(worked_out.of),
            names: worked_out.names.clone(),
            take: worked_out.take.name(),
            unit: if worked_out.of == measure.quantity {
                offered(self.frame, step, measure).symbol()
            } else {
                limits::shop_unit(self.frame, worked_out.of).unwrap_or_else(|| Unit::default_of(worked_out.of)).symbol()
            },
            scale: match (worked_out.take, Unit::find("%", measure.quantity)) {
                (Take::LowestOfHighest, Ok(percent)) => {
                    exact(&percent.to_base(&number::ratio(100, 1), measure.quantity))
                }
                _ => "1".into(),
            },
        })
    }

    fn quantity(&mut self, quantity: Quantity) -> &'static str {
        let name = quantity.name();
        self.quantities.entry(name).or_insert_with(|| {
            let zero = number::ratio(0, 1);
            let unit = |unit: Unit| {
                let factor = unit.scale();
                // to_base(0) is the offset times the factor, so it is all that is to be added.
                UnitData { symbol: unit.symbol(), factor: exact(&factor), add: exact(&unit.to_base(&zero, quantity)) }
            };
            let common = Unit::common_of(quantity);
            let shop = limits::shop_unit(self.frame, quantity);
            let usual: Vec<Unit> =
                shop.into_iter().chain(common.into_iter().filter(|unit| Some(*unit) != shop)).collect();
            let rest = Unit::all_of(quantity).filter(|unit| !usual.contains(unit));
            QuantityData {
                units: usual.iter().copied().chain(rest).map(unit).collect(),
                open: quantity.has_open_circuit(),
                whole: quantity.is_whole(),
            }
        });
        name
    }

    fn result(&self, result: &crate::model::Outcome) -> ResultData {
        let id = |c| self.procedure.causes.id(c).to_owned();
        ResultData {
            text: result.text.value.clone(),
            out: result.rules_out(self.procedure.causes.len()).iter().map(id).collect(),
            note: result.note.clone(),
            way: self.way(&result.way),
        }
    }

    fn way(&self, way: &Way) -> WayData {
        let procedure = self.procedure;
        let id = |c: &crate::model::CauseIx| procedure.causes.id(*c).to_owned();
        let mut data = WayData { kind: way.word(), ..WayData::default() };
        match way {
            Way::Then(to) => data.step = Some(procedure.steps.id(*to).to_owned()),
            Way::Shows(cause) => data.causes = Some(vec![id(cause)]),
            Way::Found(causes) => data.causes = Some(causes.iter().map(id).collect()),
            Way::FoundLeft => {}
            Way::Jump(to) => {
                let link = self.frame.procedure(*to);
                data.text = Some(self.frame.base.procedures.id(*to).to_owned());
                data.link = Some(Link { on: None, ..link });
            }
            Way::Normal(text) | Way::Unproven(text) | Way::Refer(text) => data.text = Some(text.clone()),
            Way::Unknown => data.kind = "no-result",
        }
        data
    }
}

/// The unit that is offered first: the shop's, else the one in which the step's limits are written.
fn offered(frame: &Frame<'_>, step: &Step, measure: &Measure) -> Unit {
    limits::shop_unit(frame, measure.quantity).unwrap_or_else(|| unit_of(frame, step, measure))
}

/// The unit in which the step's limits are written.
fn unit_of(frame: &Frame<'_>, step: &Step, measure: &Measure) -> Unit {
    let own = step.results.iter().find_map(|result| match &result.condition {
        Condition::Reading(phrase) => unit_in(phrase),
        _ => None,
    });
    let spec = || {
        let spec = &frame.base.specs[measure.spec.as_ref()?.value];
        spec.entries.iter().find_map(|entry| match &entry.limits {
            Limits::Bands(bands) => bands.iter().find_map(|band| unit_in(&band.phrase)),
            Limits::Placeholder => None,
        })
    };
    own.or_else(spec).unwrap_or_else(|| Unit::default_of(measure.quantity))
}

/// The amounts that a step's results and its spec name on a vehicle.
fn amounts_of<'a>(frame: &'a Frame<'_>, step: &'a Step, measure: &Measure, vehicle: VehicleIx) -> Vec<&'a Amount> {
    let own = step.results.iter().filter_map(|result| match &result.condition {
        Condition::Reading(phrase) => Some(phrase),
        _ => None,
    });
    let bands = measure.spec.as_ref().and_then(|spec| frame.base.specs[spec.value].bands(vehicle));
    own.chain(bands.unwrap_or_default().iter().map(|band| &band.phrase)).flat_map(limits::amounts).collect()
}

fn unit_in(phrase: &Phrase) -> Option<Unit> {
    phrase.ends().next().map(|end| end.amount.unit)
}

fn class_data(frame: &Frame<'_>, procedure: &Procedure, class: &Class) -> ClassData {
    ClassData {
        vehicles: frame.base.vehicle_ids(&class.vehicles),
        causes: procedure.cause_ids(&class.causes),
        keys: class.keys.iter().map(|(_, memory)| key_data(memory)).collect(),
        meets: procedure.steps.indexes().map(|ix| meeting(frame, procedure, class, ix)).collect(),
    }
}

fn key_data(memory: &Memory) -> KeyData {
    match memory {
        Memory::Readings(cells) => KeyData { cells: Some(cells_data(cells)), labels: None },
        Memory::Labels(labels) => KeyData { cells: None, labels: Some(labels.clone()) },
    }
}

fn cells_data(cells: &Cells) -> Vec<CellData> {
    let edge = |edge: &Edge| match edge {
        Edge::At(value, after) => Some(EdgeData(exact(value), u8::from(*after))),
        Edge::Bottom | Edge::Top => None,
    };
    (0..cells.len())
        .map(|at| {
            let set = cells.readings(&CellSet::one(at));
            // The cell of "open circuit" holds no number.
            set.spans().first().zip(set.spans().last()).map(|(first, last)| [edge(first.from()), edge(last.to())])
        })
        .collect()
}

fn meeting(frame: &Frame<'_>, procedure: &Procedure, class: &Class, ix: StepIx) -> Meeting {
    let step = &procedure.steps[ix];
    let forgets = class.forgets[ix.raw()].iter().collect();
    match &class.meets[ix.raw()] {
        Meets::Done => Meeting { is: "done", forgets, ..Meeting::default() },
        Meets::Blind => Meeting { is: "blind", forgets, ..Meeting::default() },
        Meets::Route(result) => Meeting { is: "route", route: *result, forgets, ..Meeting::default() },
        Meets::Test { key, takes } => {
            let words = match (class.readings(ix), step.measure()) {
                (Some((_, cells, takes)), Some(measure)) => {
                    let unit = unit_of(frame, step, measure);
                    let shop = limits::shop_unit(frame, measure.quantity).filter(|shop| *shop != unit);
                    let amounts = amounts_of(frame, step, measure, class.one);
                    let words = |take| {
                        let set = cells.readings(take);
                        let told = |unit| set.words_as(unit, cells.domain(), &amounts);
                        match shop {
                            Some(shop) => format!("{} ({})", told(unit), told(shop)),
                            None => told(unit),
                        }
                    };
                    takes.iter().map(words).collect()
                }
                _ => Vec::new(),
            };
            let spec = step.measure().and_then(|m| m.spec.as_ref()).map(|spec| &frame.base.specs[spec.value]);
            Meeting {
                is: "test",
                key: Some(*key),
                takes: takes.iter().map(|take| take.iter().collect()).collect(),
                words,
                limit: spec.map(|spec| {
                    limits::value_text(frame, spec, spec.by_vehicle.get(class.one.raw()).copied().flatten())
                }),
                forgets,
                route: None,
            }
        }
    }
}

/// The address of a procedure's job data.
pub fn job_address(id: &str) -> String {
    format!("jobs/{id}.js")
}
