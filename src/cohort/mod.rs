//! Floor 4: a class of coupons, from a roster and a folder of photographs into an
//! archive.
//!
//! [`Sheet`] reads the roster, [`batch`] measures what it lists and files it,
//! [`remeasure`] measures again what is filed. Photographs are worked on side by
//! side, never more at once than asked for, so the memory needed does not grow
//! with the class.

mod asking;
mod batch;
mod changes;
mod class;
mod demo;
mod error;
mod measure;
mod photos;
mod plan;
mod reason;
mod remeasure;
mod repeat;
mod sheet;
mod study;
mod work;

pub use batch::{Batch, Event, Summary, batch};
pub use changes::{Change, changes};
pub use class::{Class, ClassRequest, Look, Row, Size, Stretch};
pub use demo::{Demo, demo};
pub use error::CohortError;
pub use remeasure::{Again, Remeasured, remeasure};
pub use repeat::{Repeat, Repeated, Scatter, repeat};
pub use sheet::{COLUMNS, Line, Photos, Sheet, SheetFault, example};
pub use study::{AllowedOf, NoStudy, Unusable, study, study_example};
