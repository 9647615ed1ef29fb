//! An object of DICOM PS3.10, element by element, in explicit little-endian.

use std::{collections::BTreeMap, io::Write};

use limbledger::imaging::picture::{Object, Raster, Unshown, View, frame, open};

pub const EXPLICIT: &str = "1.2.840.10008.1.2.1";
const PIXEL_DATA: u32 = 0x7FE0_0010;
/// Value representations with a length of four bytes behind two reserved ones.
const LONG: [&str; 5] = ["OB", "OW", "SQ", "UN", "UT"];

#[derive(Clone)]
pub struct Made {
    syntax: &'static str,
    elements: BTreeMap<u32, Vec<u8>>,
    deflated: bool,
}

/// One element with its head.
fn element(tag: u32, vr: &str, value: &[u8]) -> Vec<u8> {
    let mut bytes = head(tag, vr, u32::try_from(value.len().next_multiple_of(2)).unwrap());
    bytes.extend(value);
    if value.len() % 2 == 1 {
        bytes.push(if matches!(vr, "OB" | "OW" | "UN") { 0 } else { b' ' });
    }
    bytes
}

fn head(tag: u32, vr: &str, length: u32) -> Vec<u8> {
    let mut bytes = tag_bytes(tag).to_vec();
    bytes.extend(vr.as_bytes());
    if LONG.contains(&vr) {
        bytes.extend([0, 0]);
        bytes.extend(length.to_le_bytes());
    } else {
        bytes.extend(u16::try_from(length).unwrap().to_le_bytes());
    }
    bytes
}

fn tag_bytes(tag: u32) -> [u8; 4] {
    let [a, b, c, d] = tag.to_be_bytes();
    [b, a, d, c]
}

fn words(values: &[u16]) -> Vec<u8> {
    values.iter().flat_map(|value| value.to_le_bytes()).collect()
}

impl Made {
    /// A grey picture of eight bits without any pixels.
    pub fn new(rows: u16, columns: u16) -> Self {
        Self::nothing()
            .text(0x0008_0060, "CS", "CR")
            .numbers(0x0028_0002, &[1])
            .text(0x0028_0004, "CS", "MONOCHROME2")
            .numbers(0x0028_0010, &[rows])
            .numbers(0x0028_0011, &[columns])
            .bits(8, 8, 7)
            .numbers(0x0028_0103, &[0])
    }

    /// An object without a picture.
    pub fn nothing() -> Self {
        Made { syntax: EXPLICIT, elements: BTreeMap::new(), deflated: false }
    }

    /// A picture in three colours, one pixel after the other.
    pub fn colour(rows: u16, columns: u16, photometric: &str) -> Self {
        Self::new(rows, columns)
            .numbers(0x0028_0002, &[3])
            .text(0x0028_0004, "CS", photometric)
            .numbers(0x0028_0006, &[0])
    }

    pub fn syntax(mut self, syntax: &'static str) -> Self {
        self.syntax = syntax;
        self
    }

    /// Deflated without making it any smaller: a stored block says what it holds in plain bytes (RFC 1951 3.2.4).
    pub fn deflated(mut self) -> Self {
        self.deflated = true;
        self.syntax("1.2.840.10008.1.2.1.99")
    }

    pub fn text(self, tag: u32, vr: &str, value: &str) -> Self {
        self.bytes(tag, vr, value.as_bytes())
    }

    pub fn numbers(self, tag: u32, values: &[u16]) -> Self {
        self.bytes(tag, "US", &words(values))
    }

    pub fn words(self, tag: u32, values: &[u16]) -> Self {
        self.bytes(tag, "OW", &words(values))
    }

    pub fn bytes(mut self, tag: u32, vr: &str, value: &[u8]) -> Self {
        self.elements.insert(tag, element(tag, vr, value));
        self
    }

    /// A sequence with one item.
    pub fn sequence(self, tag: u32, item: &Made) -> Self {
        self.sequences(tag, std::slice::from_ref(item))
    }

    pub fn sequences(self, tag: u32, items: &[Made]) -> Self {
        let mut value = Vec::new();
        for item in items {
            let inside = item.elements.values().flatten().copied().collect::<Vec<u8>>();
            value.extend(tag_bytes(0xFFFE_E000));
            value.extend(u32::try_from(inside.len()).unwrap().to_le_bytes());
            value.extend(inside);
        }
        self.bytes(tag, "SQ", &value)
    }

    pub fn bits(self, allocated: u16, stored: u16, high: u16) -> Self {
        self.numbers(0x0028_0100, &[allocated]).numbers(0x0028_0101, &[stored]).numbers(0x0028_0102, &[high])
    }

    pub fn signed(self) -> Self {
        self.numbers(0x0028_0103, &[1])
    }

    pub fn frames(self, count: &str) -> Self {
        self.text(0x0028_0008, "IS", count)
    }

    pub fn window(self, centre: &str, width: &str) -> Self {
        self.text(0x0028_1050, "DS", centre).text(0x0028_1051, "DS", width)
    }

    pub fn pixels(self, values: &[u8]) -> Self {
        self.bytes(PIXEL_DATA, "OB", values)
    }

    pub fn wide_pixels(self, values: &[u16]) -> Self {
        self.words(PIXEL_DATA, values)
    }

    /// Packed pixels: the offset table, and the fragments.
    pub fn fragments(mut self, offsets: &[u32], fragments: &[&[u8]]) -> Self {
        let mut bytes = head(PIXEL_DATA, "OB", u32::MAX);
        let offsets: Vec<u8> = offsets.iter().flat_map(|offset| offset.to_le_bytes()).collect();
        for part in std::iter::once(offsets.as_slice()).chain(fragments.iter().copied()) {
            let length = part.len().next_multiple_of(2);
            bytes.extend(tag_bytes(0xFFFE_E000));
            bytes.extend(u32::try_from(length).unwrap().to_le_bytes());
            bytes.extend(part);
            bytes.resize(bytes.len() + length - part.len(), 0);
        }
        bytes.extend(tag_bytes(0xFFFE_E0DD));
        bytes.extend([0; 4]);
        self.elements.insert(PIXEL_DATA, bytes);
        self
    }

    /// The whole file.
    pub fn file(&self) -> Vec<u8> {
        let mut meta = element(0x0002_0001, "OB", &[0, 1]);
        meta.extend(element(0x0002_0002, "UI", b"1.2.840.10008.5.1.4.1.1.7"));
        meta.extend(element(0x0002_0003, "UI", b"2.25.1"));
        meta.extend(element(0x0002_0010, "UI", format!("{}\0", self.syntax).as_bytes().trim_ascii_end()));
        meta.extend(element(0x0002_0012, "UI", b"2.25.2"));
        let mut file = vec![0; 128];
        file.extend(b"DICM");
        file.extend(element(0x0002_0000, "UL", &u32::try_from(meta.len()).unwrap().to_le_bytes()));
        file.extend(meta);
        let data: Vec<u8> = self.elements.values().flatten().copied().collect();
        if self.deflated {
            let length = u16::try_from(data.len()).unwrap();
            file.push(1);
            file.extend(length.to_le_bytes());
            file.extend((!length).to_le_bytes());
        }
        file.extend(data);
        file
    }

    pub fn open(&self) -> Result<Object, Unshown> {
        opened(&self.file())
    }

    pub fn shown(&self) -> Raster {
        self.frame(1)
    }

    pub fn frame(&self, number: u32) -> Raster {
        frame(&self.open().unwrap(), number, View::AsKept).unwrap()
    }

    /// Why the first frame is not shown.
    pub fn refused(&self) -> Unshown {
        self.open().and_then(|object| frame(&object, 1, View::AsKept)).unwrap_err()
    }
}

pub fn opened(bytes: &[u8]) -> Result<Object, Unshown> {
    let mut file = tempfile::NamedTempFile::new().unwrap();
    file.write_all(bytes).unwrap();
    open(file.path())
}
