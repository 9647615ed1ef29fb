//! What is chosen when samples are ordered: the suspicion, the laboratory and its protocol. None is ever a default.

use serde::Deserialize;

use super::{Laboratory, is_sample, store};
use crate::{
    App,
    catalogue::{
        Study, StudyKind, catalogue,
        diagnostics::{Item, Protocol, SampleNote, Suspicion},
    },
    ids::{LaboratoryId, VisitId},
    web::{Check, Errors, Result as Page},
};

/// The key of a suspicion that is none of the catalogue's.
pub(super) const OTHER: &str = "other";
/// The study that answers first what a biopsy is asked.
const GENES: &str = "blood_genes";

/// As it is kept.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Plan {
    /// Code of the catalogue's suspicion, `other`, or empty.
    pub suspicion: String,
    /// Code of the catalogue's protocol, or empty.
    pub protocol: String,
    pub laboratory: Option<LaboratoryId>,
    /// 0 while nobody planned.
    pub version: i64,
}

impl Plan {
    pub fn suspected(&self) -> Option<&'static Suspicion> {
        catalogue().diagnostics.suspicions.get(&self.suspicion)
    }

    pub fn protocol(&self) -> Option<&'static Protocol> {
        catalogue().diagnostics.protocols.get(&self.protocol)
    }
}

/// As it is typed.
#[derive(Debug, Clone, Default, PartialEq, Eq, Deserialize)]
#[serde(default)]
pub struct TypedPlan {
    pub suspicion: String,
    pub protocol: String,
    pub laboratory: String,
}

impl TypedPlan {
    pub fn of(plan: &Plan) -> Self {
        TypedPlan {
            suspicion: plan.suspicion.clone(),
            protocol: plan.protocol.clone(),
            laboratory: plan.laboratory.map(|id| id.to_string()).unwrap_or_default(),
        }
    }

    /// The plan for these items of this kind of order.
    ///
    /// # Errors
    /// A biopsy without a suspicion, a protocol for none of the items, a laboratory that is not in use.
    pub fn check(
        &self,
        kind: StudyKind,
        items: &[String],
        laboratories: &[Laboratory],
    ) -> Result<Plan, Errors> {
        let mut check = Check::new();
        let known = catalogue().diagnostics.suspicions.get(&self.suspicion).is_some();
        if kind == StudyKind::Biopsy && !known && self.suspicion != OTHER {
            check.errors.add("suspicion", "Say what is suspected: the muscle follows from it.");
        }
        let fits = protocols_for(items).iter().any(|row| row.code == self.protocol);
        if !self.protocol.is_empty() && !fits {
            let words = catalogue().diagnostics.protocols.get(&self.protocol).map(|row| row.name.as_str());
            let sentence = match words {
                Some(name) => format!("“{name}” is for none of these samples. Choose another one."),
                None => "Choose a protocol of the list.".to_owned(),
            };
            check.errors.add("protocol", sentence);
        }
        let picked = self.laboratory.trim();
        let laboratory = laboratories.iter().find(|one| one.id.to_string() == picked).map(|one| one.id);
        if !picked.is_empty() && laboratory.is_none() {
            check.errors.add("laboratory", "Choose a laboratory of the list.");
        }
        let (suspicion, protocol) = (self.suspicion.clone(), self.protocol.clone());
        let suspicion = if known || suspicion == OTHER { suspicion } else { String::new() };
        check.done(Plan { suspicion, protocol, laboratory, version: 0 })
    }
}

/// The muscles that are taken for a suspicion; none for what is no suspicion of the catalogue.
pub fn items_for(suspicion: &str) -> Vec<String> {
    catalogue().diagnostics.suspicions.get(suspicion).map(|row| row.items.clone()).unwrap_or_default()
}

/// The protocols that are for at least one of these items.
pub(super) fn protocols_for(items: &[String]) -> Vec<&'static Protocol> {
    let rows = catalogue().diagnostics.protocols.iter();
    rows.filter(|row| row.items.iter().any(|code| items.contains(code))).collect()
}

/// What the form of an order offers for its samples.
#[derive(Debug)]
pub struct Offer {
    pub laboratories: Vec<Laboratory>,
    kind: StudyKind,
}

impl Offer {
    /// None for what is no sample.
    ///
    /// # Errors
    /// The laboratories cannot be read.
    pub async fn load(app: &App, study: &Study) -> Page<Option<Self>> {
        if !is_sample(study.kind) {
            return Ok(None);
        }
        let mut laboratories = store::laboratories(app.db.read()).await?;
        laboratories.retain(|one| one.in_use);
        Ok(Some(Offer { laboratories, kind: study.kind }))
    }

    /// Whether the order asks what is suspected.
    pub fn asks(&self) -> bool {
        self.kind == StudyKind::Biopsy
    }

    pub fn suspicions(&self) -> impl Iterator<Item = &'static Suspicion> {
        catalogue().diagnostics.suspicions.iter()
    }

    pub fn suspected(&self, code: &str) -> Option<&'static Suspicion> {
        catalogue().diagnostics.suspicions.get(code)
    }

    pub fn muscles(&self, suspicion: &Suspicion) -> String {
        names(&suspicion.items)
    }

    /// The protocols of what is ticked; of everything while nothing is.
    pub fn protocols(&self, ticked: &[String]) -> Vec<&'static Protocol> {
        match ticked {
            [] if self.asks() => catalogue().diagnostics.protocols.iter().collect(),
            ticked => protocols_for(ticked),
        }
    }

    pub fn protocol_choices(&self, ticked: &[String]) -> Vec<(String, String)> {
        self.protocols(ticked).into_iter().map(|row| (row.code.clone(), row.name.clone())).collect()
    }

    pub fn laboratory_choices(&self) -> Vec<(String, String)> {
        self.laboratories.iter().map(|one| (one.id.to_string(), one.name.clone())).collect()
    }

    /// That genes are tested first, with its source.
    pub fn genes_first(&self) -> Option<&'static SampleNote> {
        catalogue().diagnostics.samples.sheet_notes.get("gene_first").filter(|_| self.asks())
    }

    /// Where the gene test is ordered.
    pub fn genes(&self, visit: &VisitId) -> String {
        format!("/visits/{visit}/diagnostics/new?study={GENES}")
    }
}

/// "semimembranosus, semitendinosus"
pub(super) fn names(items: &[String]) -> String {
    let rows = items.iter().filter_map(|code| catalogue().diagnostics.item(code));
    rows.map(|row: &Item| row.name.as_str()).collect::<Vec<_>>().join(", ")
}
