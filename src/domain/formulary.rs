//! What the clinic dispenses: the figures of each product, and where the
//! clinic took them from. No figure is built in: labels of the same drug differ
//! by maker and country.

use super::quantity::{Concentration, Mass, Volume};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// One product, as the clinic's formulary has it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Product {
    /// The key by which prescriptions name it.
    pub key: String,
    /// Its name.
    pub name: String,
    /// Drug in one vial of powder.
    pub vial: Mass,
    /// What the powder is mixed with.
    pub diluent: String,
    /// How much of it goes into one vial.
    pub diluent_volume: Volume,
    /// What can be drawn from one mixed vial.
    pub available: Volume,
    /// Drug in each mL once mixed.
    pub concentration: Concentration,
    /// Hours that a mixed vial keeps in the refrigerator.
    pub refrigerated_hours: u32,
    /// Hours that a mixed vial keeps at room temperature, where a source gives them.
    pub room_hours: Option<u32>,
    /// Label or reference that the clinic took the figures from.
    pub source: String,
}

impl Product {
    /// What a new vial can give to one dose, where so much of it is lost on the way.
    pub fn drawable(&self, loss: Volume) -> Volume {
        self.available.less(loss)
    }
}

/// Every product by its key.
pub type Formulary = BTreeMap<String, Product>;
