//! A font as PDF has it: a composite one whose codes are glyph numbers, cut to what was used, with what each glyph stands for.

use super::content::digits;
use super::file::Writer;
use crate::order::sort_by_key;
use crate::sheet::font::{Font, Glyph};

/// Objects that a font takes.
pub(super) const OBJECTS: usize = 5;

/// Writes a font's objects; the first is the one that pages name.
pub(super) fn write(w: &mut Writer, font: &Font, name: &str, used: &[Glyph]) -> usize {
    let mut used = used.to_vec();
    sort_by_key(&mut used, |g| (g.id, g.letter));
    let [whole, descendant, descriptor, file, unicode] = w.reserve::<OBJECTS>();
    // Six letters that say which cut this is (9.6.4); one cut of each face to a file.
    let name = format!("SCRIEV+{name}");
    w.object(
        whole,
        &format!(
            "<</Type/Font/Subtype/Type0/BaseFont/{name}/Encoding/Identity-H/DescendantFonts[{descendant} 0 R]\
             /ToUnicode {unicode} 0 R>>"
        ),
    );
    w.object(
        descendant,
        &format!(
            "<</Type/Font/Subtype/CIDFontType2/BaseFont/{name}/CIDSystemInfo<</Registry(Adobe)/Ordering(Identity)\
             /Supplement 0>>/FontDescriptor {descriptor} 0 R/CIDToGIDMap/Identity/DW 0/W[{}]>>",
            widths(font, &used)
        ),
    );
    let ([l, b, r, t], [up, down]) = (font.bounds(), font.reach());
    let whole_number = |v: f64| libm::round(v) as i64;
    let [l, b, r, t, up, down] = [l, b, r, t, up, down].map(whole_number);
    w.object(
        descriptor,
        &format!(
            "<</Type/FontDescriptor/FontName/{name}/Flags 32/FontBBox[{l} {b} {r} {t}]/ItalicAngle 0/Ascent {up}\
             /Descent {down}/CapHeight 660/StemV 80/FontFile2 {file} 0 R>>"
        ),
    );
    let ids: Vec<u16> = used.iter().map(|g| g.id).collect();
    let data = font.subset(&ids);
    w.stream(file, &format!("/Length1 {}", data.len()), &data, true);
    w.stream(unicode, "", &to_unicode(&used), true);
    whole
}

/// Widths, glyph by glyph, in thousandths of an em.
fn widths(font: &Font, used: &[Glyph]) -> String {
    let mut out = String::new();
    let mut last = None;
    for glyph in used {
        if last != Some(glyph.id) {
            out.push_str(&format!("{}[{}]", glyph.id, digits(font.advance(glyph.id) * 1000.0)));
        }
        last = Some(glyph.id);
    }
    out
}

/// Which letter each glyph stands for, a hundred to a block as it must be (Adobe Technical Note 5411).
fn to_unicode(used: &[Glyph]) -> Vec<u8> {
    let mut out = String::from(
        "/CIDInit/ProcSet findresource begin 12 dict begin begincmap/CIDSystemInfo<</Registry(Adobe)/Ordering(UCS)\
         /Supplement 0>>def/CMapName/Adobe-Identity-UCS def/CMapType 2 def\n1 begincodespacerange<0000><FFFF>\
         endcodespacerange\n",
    );
    // One letter to a glyph: the first; what the font has not stands for itself.
    let mut single: Vec<Glyph> = Vec::new();
    for glyph in used.iter().filter(|g| g.id != 0) {
        if single.last().is_none_or(|s| s.id != glyph.id) {
            single.push(*glyph);
        }
    }
    for block in single.chunks(100) {
        out.push_str(&format!("{} beginbfchar\n", block.len()));
        for glyph in block {
            out.push_str(&format!("<{:04X}><", glyph.id));
            for unit in glyph.letter.encode_utf16(&mut [0; 2]) {
                out.push_str(&format!("{unit:04X}"));
            }
            out.push_str(">\n");
        }
        out.push_str("endbfchar\n");
    }
    out.push_str("endcmap CMapName currentdict/CMap defineresource pop end end");
    out.into_bytes()
}
