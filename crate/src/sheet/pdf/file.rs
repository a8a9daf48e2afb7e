//! The file itself: objects, pages, what viewers are asked for.

use super::content::{Content, Faces, POINT, digits};
use super::fonts;
use crate::sheet::font::Glyph;
use std::rc::Rc;

/// A grey picture.
#[derive(Clone, Debug)]
pub struct Image {
    /// Columns, px.
    pub width: u32,
    /// Rows, px.
    pub height: u32,
    /// A JPEG file, one byte a pixel.
    pub jpeg: Vec<u8>,
    /// What black is shown as, of 1.
    pub black: f64,
}

/// One page.
#[derive(Clone, Debug)]
pub struct Page {
    /// Width and height, mm.
    pub size: [f64; 2],
    /// What viewers call it: "Wing, row 1, column 2".
    pub label: String,
    /// What is drawn.
    pub content: Content,
    /// The pictures that `content` shows, by their place in it.
    pub images: Vec<Rc<Image>>,
}

/// What goes into a file.
#[derive(Clone, Debug)]
pub struct Book {
    /// What viewers show above it.
    pub title: String,
    /// A line about it: date, revision.
    pub subject: String,
    /// In order.
    pub pages: Vec<Page>,
    /// For each part, what it is called and on which page it begins.
    pub bookmarks: Vec<(String, usize)>,
}

/// Objects in the making.
pub(super) struct Writer {
    out: Vec<u8>,
    /// Where each object begins; 0 while it is only reserved.
    places: Vec<usize>,
}

impl Writer {
    /// Numbers for objects that are written later.
    pub(super) fn reserve<const N: usize>(&mut self) -> [usize; N] {
        let first = self.places.len() + 1;
        self.places.resize(self.places.len() + N, 0);
        std::array::from_fn(|i| first + i)
    }

    fn begin(&mut self, id: usize) {
        if let Some(place) = id.checked_sub(1).and_then(|i| self.places.get_mut(i)) {
            *place = self.out.len();
        }
        self.out.extend_from_slice(format!("{id} 0 obj\n").as_bytes());
    }

    /// Writes one object.
    pub(super) fn object(&mut self, id: usize, body: &str) {
        self.begin(id);
        self.out.extend_from_slice(body.as_bytes());
        self.out.extend_from_slice(b"\nendobj\n");
    }

    /// Writes a stream; `pack` it unless it is packed already.
    pub(super) fn stream(&mut self, id: usize, keys: &str, data: &[u8], pack: bool) {
        let packed = pack.then(|| miniz_oxide::deflate::compress_to_vec_zlib(data, 6));
        let data = packed.as_deref().unwrap_or(data);
        let filter = if pack { "/Filter/FlateDecode" } else { "" };
        self.begin(id);
        self.out.extend_from_slice(format!("<</Length {}{filter}{keys}>>\nstream\n", data.len()).as_bytes());
        self.out.extend_from_slice(data);
        self.out.extend_from_slice(b"\nendstream\nendobj\n");
    }

    /// The table of objects and the end.
    fn finish(mut self, root: usize, info: usize) -> Vec<u8> {
        let at = self.out.len();
        let n = self.places.len() + 1;
        self.out.extend_from_slice(format!("xref\n0 {n}\n0000000000 65535 f \n").as_bytes());
        for place in &self.places {
            self.out.extend_from_slice(format!("{place:010} 00000 n \n").as_bytes());
        }
        let end = format!("trailer\n<</Size {n}/Root {root} 0 R/Info {info} 0 R>>\nstartxref\n{at}\n%%EOF\n");
        self.out.extend_from_slice(end.as_bytes());
        self.out
    }
}

/// A text as PDF has it: UTF-16 with its mark, as hex.
fn text(s: &str) -> String {
    let units = s.chars().filter(|c| !c.is_control()).collect::<String>();
    let hex: String = units.encode_utf16().map(|u| format!("{u:04X}")).collect();
    format!("<FEFF{hex}>")
}

fn numbers(list: &[f64]) -> String {
    list.iter().map(|v| digits(*v)).collect::<Vec<_>>().join(" ")
}

/// The whole file. The same book gives the same bytes.
pub fn write(book: &Book, faces: &Faces) -> Vec<u8> {
    // The second line's high bytes say that the file is not plain text (7.5.2).
    let mut w = Writer { out: b"%PDF-1.7\n%\xE2\xE3\xCF\xD3\n".to_vec(), places: Vec::new() };
    let [root, info, tree, outline] = w.reserve();
    let mut used: [Vec<Glyph>; 2] = [Vec::new(), Vec::new()];
    for page in &book.pages {
        for (all, own) in used.iter_mut().zip(&page.content.used) {
            own.iter().for_each(|g| {
                if !all.contains(g) {
                    all.push(*g)
                }
            });
        }
    }
    let mut resources = String::from("/Font<<");
    for (i, bold) in [false, true].into_iter().enumerate() {
        if !used[i].is_empty() {
            let name = if bold { "ScrieveText-SemiBold" } else { "ScrieveText-Regular" };
            let id = fonts::write(&mut w, faces.face(bold), name, &used[i]);
            resources.push_str(&format!("/F{i} {id} 0 R"));
        }
    }
    resources.push_str(">>");
    let mut written = Vec::new();
    let pages: Vec<usize> =
        book.pages.iter().map(|page| write_page(&mut w, page, tree, &resources, &mut written)).collect();
    let kids: String = pages.iter().map(|id| format!("{id} 0 R ")).collect();
    w.object(tree, &format!("<</Type/Pages/Count {}/Kids[{}]>>", pages.len(), kids.trim_end()));
    write_outline(&mut w, outline, &book.bookmarks, &pages);
    let labels: String =
        book.pages.iter().enumerate().map(|(i, page)| format!("{i}<</P{}>>", text(&page.label))).collect();
    w.object(
        root,
        &format!(
            "<</Type/Catalog/Pages {tree} 0 R/Outlines {outline} 0 R/PageMode/UseOutlines\
             /ViewerPreferences<</PrintScaling/None/Enforce[/PrintScaling]/PickTrayByPDFSize true/Duplex/Simplex\
             /DisplayDocTitle true>>/PageLabels<</Nums[{labels}]>>>>"
        ),
    );
    w.object(
        info,
        &format!("<</Title{}/Subject{}/Creator(Scrieve)>>", text(&book.title), text(&book.subject)),
    );
    w.finish(root, info)
}

/// A page's objects; gives its number. A picture that stands on several pages is `written` once.
fn write_page(
    w: &mut Writer,
    page: &Page,
    tree: usize,
    fonts: &str,
    written: &mut Vec<(Rc<Image>, usize)>,
) -> usize {
    let [id, content] = w.reserve();
    let mut images = String::new();
    for (i, image) in page.images.iter().enumerate() {
        let before = written.iter().find(|(other, _)| Rc::ptr_eq(other, image)).map(|(_, number)| *number);
        let number = before.unwrap_or_else(|| {
            let [number] = w.reserve();
            let mut keys = format!(
                "/Type/XObject/Subtype/Image/Width {}/Height {}/ColorSpace/DeviceGray/BitsPerComponent 8/Filter/DCTDecode",
                image.width, image.height
            );
            if image.black > 0.0 {
                // Its pixels are larger than those that are made.
                keys.push_str(&format!("/Decode[{} 1]/Interpolate true", digits(image.black)));
            }
            w.stream(number, &keys, &image.jpeg, false);
            written.push((image.clone(), number));
            number
        });
        images.push_str(&format!("/I{i} {number} 0 R"));
    }
    let sides = numbers(&[0.0, 0.0, page.size[0] * POINT, page.size[1] * POINT]);
    w.object(
        id,
        &format!(
            "<</Type/Page/Parent {tree} 0 R/MediaBox[{sides}]/TrimBox[{sides}]/Resources<<{fonts}/XObject<<{images}>>>>\
             /Contents {content} 0 R>>"
        ),
    );
    w.stream(content, "", page.content.bytes(), true);
    id
}

fn write_outline(w: &mut Writer, outline: usize, marks: &[(String, usize)], pages: &[usize]) {
    let ids: Vec<usize> = marks.iter().map(|_| w.reserve::<1>()[0]).collect();
    let ends = match (ids.first(), ids.last()) {
        (Some(first), Some(last)) => format!("/First {first} 0 R/Last {last} 0 R"),
        _ => String::new(),
    };
    w.object(outline, &format!("<</Type/Outlines/Count {}{ends}>>", ids.len()));
    for (i, (title, page)) in marks.iter().enumerate() {
        let side =
            |name: &str, id: Option<&usize>| id.map(|id| format!("/{name} {id} 0 R")).unwrap_or_default();
        let (before, after) = (i.checked_sub(1).and_then(|j| ids.get(j)), ids.get(i + 1));
        let page = pages.get(*page).or(pages.first()).copied().unwrap_or(0);
        w.object(
            ids[i],
            &format!(
                "<</Title{}/Parent {outline} 0 R/Dest[{page} 0 R/Fit]{}{}>>",
                text(title),
                side("Prev", before),
                side("Next", after)
            ),
        );
    }
}
