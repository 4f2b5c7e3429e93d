//! A class measured and filed: what the sheet lists and is not in the archive yet.

use super::asking;
use super::error::CohortError;
use super::measure::{self, Why, measure};
use super::photos::PhotoFolder;
use super::plan::{self, ByCard, Claim, Job, Plan};
use super::reason::reason;
use super::sheet::Sheet;
use super::work::{each, held};
use crate::archive::{Archive, Filed, Head, sha256};
use crate::pipeline::{self, Outcome};
use crate::record::{Record, Status};
use std::collections::BTreeMap;
use std::fs;
use std::path::Path;
use std::sync::Mutex;

/// What to measure.
#[derive(Clone, Copy, Debug)]
pub struct Batch<'a> {
    /// The roster.
    pub sheet: &'a Path,
    /// Folder of the photographs.
    pub photos: &'a Path,
    /// The archive's folder; made when it is not there.
    pub archive: &'a Path,
    /// Limits for lines that name none; one for sections and one for broken welds.
    pub limits: &'a [String],
    /// How many photographs are worked on at once, and so are in memory.
    pub at_once: usize,
}

/// What is told while it runs, from whichever thread it happens on.
#[derive(Debug)]
pub enum Event<'a> {
    /// How many photographs are to be looked at, and how many need no measuring.
    Planned {
        /// To measure.
        to_do: usize,
        /// As they were filed.
        unchanged: usize,
    },
    /// A photograph is begun.
    Begun(&'a str),
    /// A photograph's record is in the archive, and stays there.
    Filed(&'a Filed, &'a Record),
    /// Nothing came of a photograph.
    Skipped(&'a str),
    /// Something in the sheet, or a photograph, that cannot be used.
    Trouble(&'a str),
    /// Something worth knowing that is no mistake.
    Note(&'a str),
}

/// How a batch ended.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Summary {
    /// Photographs measured and filed.
    pub filed: usize,
    /// Of these, refused ones.
    pub refused: usize,
    /// Photographs that were in the archive as asked.
    pub unchanged: usize,
    /// Lines and photographs that could not be used.
    pub troubles: usize,
    /// The end of the archive's chain.
    pub head: Head,
}

type Tell<'a> = &'a (dyn Fn(Event<'_>) + Sync);

/// Measures what the sheet lists and the archive does not have yet: another
/// photograph, other settings or another version of this program. May be stopped
/// at any moment; the next run goes on from there.
///
/// # Errors
/// The sheet or a folder cannot be read, or the archive cannot be used. What is
/// wrong with single lines and photographs is told and does not stop the others.
pub fn batch(order: &Batch<'_>, tell: Tell<'_>) -> Result<Summary, CohortError> {
    let bytes = fs::read(order.sheet).map_err(|source| CohortError::Read {
        path: order.sheet.to_owned(),
        source,
    })?;
    let sheet = Sheet::read(&bytes).map_err(|message| CohortError::Sheet {
        path: order.sheet.to_owned(),
        message,
    })?;
    let photos = PhotoFolder::open(order.photos)?;
    let mut plan = plan::plan(&sheet, &photos, order.limits);
    let mut archive = Archive::open_to_write(order.archive)?;
    archive.declare(&plan.coupons)?;
    for unknown in &sheet.unknown {
        tell(Event::Note(&unknown.to_string()));
    }
    let run = Run {
        photos: &photos,
        by_card: std::mem::take(&mut plan.by_card),
        archive: Mutex::new(archive),
        summary: Mutex::new(Summary::default()),
        tell,
    };
    run.tell_plan(&plan);
    let jobs = run.left(plan.jobs)?;
    let done = each(jobs, order.at_once, |job| run.one(job));
    let archive = run.archive.into_inner().unwrap_or_else(|e| e.into_inner());
    let mut summary = run.summary.into_inner().unwrap_or_else(|e| e.into_inner());
    summary.head = archive.head()?;
    archive.close()?;
    done?;
    Ok(summary)
}

struct Run<'a> {
    photos: &'a PhotoFolder,
    by_card: BTreeMap<String, ByCard>,
    archive: Mutex<Archive>,
    summary: Mutex<Summary>,
    tell: Tell<'a>,
}

impl Run<'_> {
    fn tell_plan(&self, plan: &Plan) {
        for fault in &plan.faults {
            self.trouble(&fault.to_string());
        }
        if let Some(first) = plan.unclaimed.first() {
            let more = match plan.unclaimed.len() {
                1 => String::new(),
                n => format!(" and {} more", n - 1),
            };
            (self.tell)(Event::Note(&format!(
                "no line of the sheet names {first}{more}; nothing is done with it"
            )));
        }
    }

    fn trouble(&self, message: &str) {
        held(&self.summary).troubles += 1;
        (self.tell)(Event::Trouble(message));
    }

    /// The jobs that are not in the archive as asked. Each photograph is looked at
    /// once, under whatever names it comes.
    fn left(&self, jobs: Vec<Job>) -> Result<Vec<Job>, CohortError> {
        let mut seen: BTreeMap<String, String> = BTreeMap::new();
        let mut left = Vec::new();
        let mut unchanged = 0;
        for mut job in jobs {
            let bytes = match self.photos.read(&job.name) {
                Ok(bytes) => bytes,
                Err(message) => {
                    self.trouble(&format!("{}: {message}", job.name));
                    continue;
                }
            };
            let photograph = sha256(&bytes);
            if let Some(first) = seen.get(&photograph) {
                let same = format!("{} is the same picture as {first}", job.name);
                match job.claim {
                    Some(_) => self.trouble(&format!(
                        "{same}, which belongs to a coupon already; it is left out"
                    )),
                    None => (self.tell)(Event::Note(&same)),
                }
                continue;
            }
            let known = held(&self.archive).latest(&photograph)?;
            if job.claim.is_none() {
                job.claim = known.as_ref().and_then(|filed| self.known_by_card(filed));
            }
            if let (Some(claim), Some(filed)) = (&job.claim, &known)
                && filed.revision.coupon == claim.coupon
                && filed.revision.key == asking::key(&photograph, &claim.asked)
            {
                unchanged += 1;
            } else {
                left.push(Job { ..job.clone() });
            }
            seen.insert(photograph, job.name);
        }
        held(&self.summary).unchanged = unchanged;
        (self.tell)(Event::Planned {
            to_do: left.len(),
            unchanged,
        });
        Ok(left)
    }

    /// A photograph that was filed by its card belongs to that coupon still.
    fn known_by_card(&self, filed: &Filed) -> Option<Claim> {
        match self.by_card.get(&filed.revision.coupon)? {
            ByCard::Ask(asked) if asked.kind == filed.revision.asked.kind => Some(Claim {
                coupon: filed.revision.coupon.clone(),
                asked: (**asked).clone(),
            }),
            _ => None,
        }
    }

    /// One photograph from its file into the archive.
    fn one(&self, job: Job) -> Result<(), CohortError> {
        (self.tell)(Event::Begun(&job.name));
        match self.answer(&job) {
            Ok((claim, bytes, measured)) => self.file(&job, &claim, &bytes, &measured),
            Err(Left::Trouble(message)) => {
                self.trouble(&format!("{}: {message}", job.name));
                (self.tell)(Event::Skipped(&job.name));
                Ok(())
            }
            Err(Left::Note(message)) => {
                (self.tell)(Event::Note(&format!("{}: {message}", job.name)));
                (self.tell)(Event::Skipped(&job.name));
                Ok(())
            }
        }
    }

    fn answer(&self, job: &Job) -> Result<(Claim, Vec<u8>, Outcome), Left> {
        let bytes = self.photos.read(&job.name).map_err(Left::Trouble)?;
        let claim = match &job.claim {
            Some(claim) => claim.clone(),
            None => self.by_its_card(&bytes, &job.name)?,
        };
        let measured =
            measure(&bytes, file_name(&job.name), &claim.asked).map_err(Left::Trouble)?;
        Ok((claim, bytes, measured))
    }

    fn by_its_card(&self, bytes: &[u8], name: &str) -> Result<Claim, Left> {
        let Some(coupon) = pipeline::coupon_on_card(bytes, file_name(name)) else {
            return Err(Left::Note(
                "no line names it, and no scale card with a coupon's name was read in it; nothing \
                 is done with it"
                    .to_owned(),
            ));
        };
        match self.by_card.get(&coupon) {
            Some(ByCard::Ask(asked)) => Ok(Claim {
                coupon,
                asked: (**asked).clone(),
            }),
            Some(ByCard::Unclear) => Err(Left::Trouble(format!(
                "it shows the card of coupon {coupon}, but the sheet does not say whether it shows \
                 a section or a broken weld; write the word card in that column"
            ))),
            None => Err(Left::Trouble(format!(
                "it shows the card of coupon {coupon}, and no line of the sheet leaves that \
                 coupon's photographs to be found; add one, or name the photograph"
            ))),
        }
    }

    fn file(
        &self,
        job: &Job,
        claim: &Claim,
        bytes: &[u8],
        measured: &Outcome,
    ) -> Result<(), CohortError> {
        let photograph = sha256(bytes);
        let mut archive = held(&self.archive);
        let before = archive.latest(&photograph)?;
        let why = Why {
            coupon: &claim.coupon,
            photo: file_name(&job.name),
            asked: &claim.asked,
            key: &asking::key(&photograph, &claim.asked),
            reason: &reason(before.as_ref().map(|filed| &filed.revision), claim),
        };
        let filed = measure::file(&mut archive, bytes, measured, &why)?;
        drop(archive);
        if let Some(before) = before.filter(|before| before.revision.coupon != claim.coupon) {
            (self.tell)(Event::Note(&format!(
                "{} was filed for coupon {} before and now belongs to {}",
                job.name, before.revision.coupon, claim.coupon
            )));
        }
        let mut summary = held(&self.summary);
        summary.filed += 1;
        summary.refused += usize::from(measured.record.status == Status::Refused);
        drop(summary);
        (self.tell)(Event::Filed(&filed, &measured.record));
        Ok(())
    }
}

/// Why nothing comes of a photograph.
enum Left {
    Trouble(String),
    Note(String),
}

/// The name without folders.
fn file_name(name: &str) -> &str {
    name.rsplit(['/', '\\']).next().unwrap_or(name)
}
