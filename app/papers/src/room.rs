//! All the typesetter can see: one template and its parts, one sheet of data, the faces. No files, no clock, no network.
use typst::diag::{FileError, FileResult};
use typst::foundations::{Bytes, Datetime, Duration};
use typst::syntax::{FileId, RootedPath, Source, VirtualPath, VirtualRoot};
use typst::text::{Font, FontBook};
use typst::utils::LazyHash;
use typst::{Feature, Library, LibraryExt, World};

use crate::Trouble;
use crate::faces::Faces;

const TEMPLATE: &str = include_str!("../typeset/decision-pack.typ");
/// Apart from the template: what hangs on no paper's data is worked out once and remembered for every paper after.
const PARTS: &str = include_str!("../typeset/parts.typ");

pub(crate) struct Room {
    functions: LazyHash<Library>,
    book: LazyHash<FontBook>,
    faces: Faces,
    template: Source,
    parts: Source,
    sheet: FileId,
    data: Bytes,
}

impl std::fmt::Debug for Room {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Room").finish_non_exhaustive()
    }
}

impl Room {
    pub(crate) fn new(faces: Faces) -> Result<Self, Trouble> {
        let features = [Feature::A11yExtras].into_iter().collect();
        let place = |path: &str| {
            VirtualPath::new(path)
                .map(|path| FileId::new(RootedPath::new(VirtualRoot::Project, path)))
                .map_err(|e| Trouble::Setting(format!("{path} is no path: {e}")))
        };
        Ok(Self {
            functions: LazyHash::new(Library::builder().with_features(features).build()),
            book: LazyHash::new(faces.book()),
            faces,
            template: Source::new(place("/paper.typ")?, TEMPLATE.to_owned()),
            parts: Source::new(place("/parts.typ")?, PARTS.to_owned()),
            sheet: place("/data.json")?,
            data: Bytes::new([]),
        })
    }

    pub(crate) fn faces(&self) -> &Faces {
        &self.faces
    }

    /// Lays the data of the next paper on the table.
    pub(crate) fn lay(&mut self, data: Vec<u8>) {
        self.data = Bytes::new(data);
    }
}

impl World for Room {
    fn library(&self) -> &LazyHash<Library> {
        &self.functions
    }

    fn book(&self) -> &LazyHash<FontBook> {
        &self.book
    }

    fn main(&self) -> FileId {
        self.template.id()
    }

    fn source(&self, id: FileId) -> FileResult<Source> {
        [&self.template, &self.parts]
            .into_iter()
            .find(|source| source.id() == id)
            .cloned()
            .ok_or(FileError::AccessDenied)
    }

    fn file(&self, id: FileId) -> FileResult<Bytes> {
        if id == self.sheet {
            Ok(self.data.clone())
        } else {
            Err(FileError::AccessDenied)
        }
    }

    fn font(&self, index: usize) -> Option<Font> {
        self.faces.at(index)
    }

    /// No day but the paper's own.
    fn today(&self, _offset: Option<Duration>) -> Option<Datetime> {
        None
    }
}
