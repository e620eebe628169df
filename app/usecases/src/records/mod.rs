//! Records as printed pages: the gas safety record and the service sheet of a visit, issued by the engineer who made it.
//!
//! What a record holds is gathered from the sheet, the readings and the register each time; what it lacks is decided
//! by `inspection::records::missing`. Once issued, what was known then is kept and shown, with what was corrected since.
mod content;
mod gather;
mod issuing;
mod notice;
mod of_unit;
mod since;
mod view;

pub use content::{Content, Defect, DutyLine, Item, ReadingLine};
pub use issuing::{add_to_record, issue};
pub use notice::{NoticePaper, notices_of_job};
pub use of_unit::{PaperOf, records_of_job, records_of_unit};
pub use since::Change;
pub use view::{Issued, RecordView, record, seat_for_record};
