//! In: a procedure and a vehicle. Out: [`Odds`], how likely each cause is.
//!
//! Without shares all causes count equal; a cause that lacks one gets the mean of the others; `no-fault` takes part
//! only where it has a share.

use crate::model::{CauseIx, NO_FAULT, Procedure, VehicleIx};
use crate::quantity::number::to_f64;

/// How likely each cause is on one vehicle.
#[derive(Clone, Debug, PartialEq)]
pub struct Odds {
    /// The causes that take part, in written order.
    pub causes: Vec<CauseIx>,
    /// Their shares, in parts.
    pub weights: Vec<f64>,
    /// Their odds, adding up to 1.
    pub odds: Vec<f64>,
}

impl Odds {
    /// The odds on a vehicle.
    pub fn new(procedure: &Procedure, vehicle: VehicleIx) -> Self {
        let given: Vec<f64> =
            procedure.causes.iter().filter_map(|(_, _, c)| c.share.as_ref().map(|s| to_f64(&s.value))).collect();
        let mean = if given.is_empty() { 1.0 } else { given.iter().sum::<f64>() / given.len() as f64 };
        let mut causes = Vec::new();
        let mut weights = Vec::new();
        for cause in procedure.causes_on(vehicle).iter() {
            let share = procedure.causes[cause].share.as_ref().map(|s| to_f64(&s.value));
            if procedure.causes.id(cause) == NO_FAULT && share.is_none() {
                continue;
            }
            causes.push(cause);
            weights.push(share.unwrap_or(mean));
        }
        let total: f64 = weights.iter().sum();
        let even = 1.0 / weights.len().max(1) as f64;
        let odds = weights.iter().map(|w| if total > 0.0 { w / total } else { even }).collect();
        Self { causes, weights, odds }
    }

    /// The position of a cause.
    pub fn position(&self, cause: CauseIx) -> Option<usize> {
        self.causes.iter().position(|c| *c == cause)
    }
}
