//! Sites, visits, readings and what belongs to them, kept in one file.
//!
//! Documents go in and come out as they were written; readings are only ever added, each once however often it is
//! sent. Times and names come from the caller.

mod attachments;
mod backup;
mod counts;
mod devices;
mod document;
mod entries;
mod error;
mod exchange;
mod ids;
mod lite;
mod put_back;
mod seal;
mod sites;
mod store;
mod visits;
mod watch;

pub use attachments::{Attachment, LARGEST, NewAttachment, kind_of};
pub use devices::Device;
pub use entries::{Acknowledged, Before, Entry, Said};
pub use error::{Conflict, Document, StoreError};
pub use exchange::{Package, Which};
pub use ids::{DeviceId, Key, Revision, Seq, SiteId, VisitId};
pub use sites::{SiteListing, SiteRecord};
pub use store::Store;
pub use visits::{VisitListing, VisitRecord};
pub use watch::{Change, Changed};
