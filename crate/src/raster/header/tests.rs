//! The files are written by Pillow 13 (`tests/pictures/make.py small`), which is told what to put in them; what is
//! expected here is what it was told. The orientation table was checked there against Pillow's own reader.

use super::*;
use proptest::prelude::*;

/// Format, stored size, orientation, pixels per inch as shown, whether they mean something, animated.
type Expected = (Format, [u32; 2], u8, Option<[f64; 2]>, bool, bool);

macro_rules! file {
    ($name:literal) => {
        ($name, include_bytes!(concat!("../../../../tests/pictures/small/", $name)) as &[u8])
    };
}

fn check((name, bytes): (&str, &[u8]), (format, stored, orientation, dpi, means, animated): Expected) {
    let header = read(bytes, name).unwrap_or_else(|say| panic!("{name}: {say}"));
    assert_eq!(header.format, format, "{name}");
    assert_eq!(header.stored, Some(stored), "{name}");
    assert_eq!(header.orientation, orientation, "{name}");
    let shown = if orientation >= 5 { [stored[1], stored[0]] } else { stored };
    assert_eq!(header.shown, (format != Format::Avif).then_some(shown), "{name}");
    match (header.resolution, dpi) {
        (Some(a), Some(b)) => {
            assert!(a.iter().zip(b).all(|(a, b)| (a - b).abs() < 1e-9), "{name}: {a:?}, expected {b:?}");
        }
        (a, b) => assert_eq!(a, b, "{name}"),
    }
    assert_eq!(header.resolution_means_something, means, "{name}");
    assert_eq!(header.animated, animated, "{name}");
    assert!(!header.more, "{name}");
}

const WIDE: [u32; 2] = [24, 16];
const TALL: [u32; 2] = [16, 24];

#[test]
fn obeys_all_eight_orientations() {
    use Format::Jpeg;
    let across = Some([200.0, 100.0]);
    let down = Some([100.0, 200.0]);
    check(file!("turned-1.jpg"), (Jpeg, WIDE, 1, across, true, false));
    check(file!("turned-2.jpg"), (Jpeg, WIDE, 2, across, true, false));
    check(file!("turned-3.jpg"), (Jpeg, WIDE, 3, across, true, false));
    check(file!("turned-4.jpg"), (Jpeg, WIDE, 4, across, true, false));
    check(file!("turned-5.jpg"), (Jpeg, TALL, 5, down, true, false));
    check(file!("turned-6.jpg"), (Jpeg, TALL, 6, down, true, false));
    check(file!("turned-7.jpg"), (Jpeg, TALL, 7, down, true, false));
    check(file!("turned-8.jpg"), (Jpeg, TALL, 8, down, true, false));
    check(file!("turned-6.png"), (Format::Png, TALL, 6, None, false, false));
    check(file!("turned-6.webp"), (Format::Webp, TALL, 6, down, true, false));
}

#[test]
fn reads_jpeg_resolutions() {
    use Format::Jpeg;
    let both = |v: f64| Some([v, v]);
    check(file!("jfif-300.jpg"), (Jpeg, WIDE, 1, both(300.0), true, false));
    check(file!("jfif-72.jpg"), (Jpeg, WIDE, 1, both(72.0), false, false));
    check(file!("jfif-96.jpg"), (Jpeg, WIDE, 1, both(96.0), false, false));
    check(file!("jfif-shape.jpg"), (Jpeg, WIDE, 1, None, false, false));
    check(file!("jfif-118-cm.jpg"), (Jpeg, WIDE, 1, both(118.0 * 2.54), true, false));
    check(file!("jfif-28-cm.jpg"), (Jpeg, WIDE, 1, both(28.0 * 2.54), false, false));
    check(file!("exif-120-cm.jpg"), (Jpeg, WIDE, 1, both(120.0 * 2.54), true, false));
    check(file!("both-agree.jpg"), (Jpeg, WIDE, 1, both(300.0), true, false));
    check(file!("both-disagree.jpg"), (Jpeg, WIDE, 1, both(300.0), false, false));
    check(file!("both-72-300.jpg"), (Jpeg, WIDE, 1, both(300.0), true, false));
    check(file!("both-300-72.jpg"), (Jpeg, WIDE, 1, both(300.0), true, false));
    check(file!("camera-300.jpg"), (Jpeg, WIDE, 1, both(300.0), false, false));
    check(file!("scanner-300.jpg"), (Jpeg, WIDE, 1, both(300.0), true, false));
    check(file!("progressive.jpg"), (Jpeg, WIDE, 1, None, false, false));
}

#[test]
fn reads_the_other_kinds() {
    // PNG and BMP keep whole pixels per metre: 300 per inch becomes 11811, 150 becomes 5906, 72 becomes 2835.
    let metre = |x: f64, y: f64| Some([x * 0.0254, y * 0.0254]);
    check(file!("phys-300.png"), (Format::Png, WIDE, 1, metre(11811.0, 11811.0), true, false));
    check(file!("phys-72.png"), (Format::Png, WIDE, 1, metre(2835.0, 2835.0), false, false));
    check(file!("phys-300-150.png"), (Format::Png, WIDE, 1, metre(11811.0, 5906.0), true, false));
    check(file!("one-pixel.png"), (Format::Png, [1, 1], 1, None, false, false));
    check(file!("moving.png"), (Format::Png, WIDE, 1, None, false, true));
    check(file!("lossy.webp"), (Format::Webp, WIDE, 1, None, false, false));
    check(file!("lossless.webp"), (Format::Webp, WIDE, 1, None, false, false));
    check(file!("moving.webp"), (Format::Webp, WIDE, 1, None, false, true));
    check(file!("still.gif"), (Format::Gif, WIDE, 1, None, false, false));
    check(file!("moving.gif"), (Format::Gif, WIDE, 1, None, false, true));
    check(file!("plain.bmp"), (Format::Bmp, WIDE, 1, metre(11811.0, 11811.0), true, false));
    check(file!("plain.tif"), (Format::Tiff, WIDE, 1, Some([300.0, 300.0]), true, false));
    check(file!("plain.avif"), (Format::Avif, WIDE, 1, None, false, false));
}

#[test]
fn tells_what_else_it_is() {
    let header =
        |(name, bytes): (&str, &[u8])| read(bytes, name).unwrap_or_else(|say| panic!("{name}: {say}"));
    for (file, format, key) in [
        (file!("plain.pdf"), Format::Pdf, "picture.pdf"),
        (file!("heading.heic"), Format::Heic, "picture.heic"),
        (file!("drawing.svg"), Format::Svg, "picture.svg"),
        (file!("words.jpg"), Format::Unknown, "picture.not-a-picture"),
        (file!("plain.tif"), Format::Tiff, "picture.tiff"),
        (file!("jfif-72.jpg"), Format::Jpeg, "picture.broken"),
    ] {
        assert_eq!(header(file).format, format, "{}", file.0);
        assert_eq!(remedy(format, file.0).key, key, "{}", file.0);
    }
    let camera = header(file!("camera-300.jpg"));
    assert_eq!((camera.focal_35mm, camera.from_camera), (Some(26.0), true));
    let flags = header(file!("both-disagree.jpg")).flags;
    assert_eq!(flags.iter().map(|f| f.key.as_ref()).collect::<Vec<_>>(), ["picture.resolution-disputed"]);
}

#[test]
fn refuses_in_words() {
    // A PNG that claims 40 001 × 1 px: signature and IHDR only.
    let wide = b"\x89PNG\r\n\x1A\n\0\0\0\x0DIHDR\0\0\x9C\x41\0\0\0\x01\x08\x02\0\0\0";
    for ((name, bytes), key) in [
        (file!("empty.jpg"), "picture.empty"),
        (file!("cut-short.jpg"), "picture.cut-short"),
        (("two bytes", b"\xFF\xD8" as &[u8]), "picture.cut-short"),
        (("wide.png", wide), "picture.too-large"),
    ] {
        let say = read(bytes, name).expect_err(name);
        assert_eq!(say.key, key, "{name}");
        assert!(say.args.iter().any(|(arg, _)| arg == "name"), "{name}");
    }
}

#[test]
fn finds_the_end() {
    for (name, bytes) in [file!("jfif-300.jpg"), file!("phys-300.png"), file!("still.gif")] {
        let format = files::format(bytes);
        assert!(ends_in(format, bytes), "{name}");
        assert!(!ends_in(format, &bytes[..bytes.len() - 9]), "{name}");
    }
}

const SEEDS: [&[u8]; 14] = [
    file!("turned-6.jpg").1,
    file!("both-disagree.jpg").1,
    file!("camera-300.jpg").1,
    file!("progressive.jpg").1,
    file!("phys-300.png").1,
    file!("turned-6.png").1,
    file!("moving.png").1,
    file!("turned-6.webp").1,
    file!("moving.webp").1,
    file!("lossless.webp").1,
    file!("moving.gif").1,
    file!("plain.bmp").1,
    file!("plain.tif").1,
    file!("plain.avif").1,
];

proptest! {
    #![proptest_config(ProptestConfig::with_cases(4000))]

    /// Whatever is changed or cut off, there is an answer and no panic, and what it says is within bounds.
    #[test]
    fn survives_damage(
        seed in 0..SEEDS.len(),
        changes in prop::collection::vec((any::<prop::sample::Index>(), any::<u8>()), 0..12),
        doubled in any::<prop::sample::Index>(),
        keep in any::<prop::sample::Index>(),
        cut: bool,
    ) {
        let mut bytes = SEEDS[seed].to_vec();
        for (at, value) in changes {
            let at = at.index(bytes.len());
            bytes[at] = value;
        }
        if cut {
            bytes.truncate(keep.index(bytes.len() + 1));
        } else {
            let tail = bytes[doubled.index(bytes.len())..].to_vec();
            bytes.extend(tail);
        }
        if let Ok(header) = read(&bytes, "damaged") {
            prop_assert!((1..=8).contains(&header.orientation));
            prop_assert!(header.resolution.is_none_or(|d| d.iter().all(|v| v.is_finite() && *v > 0.0)));
            prop_assert!(header.stored.is_none_or(|[w, h]| super::super::fits(w, h).is_ok()));
            let _ = ends_in(header.format, &bytes);
        }
    }

    /// Broken tags never lose the picture: only bytes within the tag segment are changed.
    #[test]
    fn broken_tags_lose_nothing(changes in prop::collection::vec((30usize..90, any::<u8>()), 1..20)) {
        let (name, file) = file!("camera-300.jpg");
        let from = bytes::find(file, b"Exif\0\0").expect("has tags") + 6;
        let mut damaged = file.to_vec();
        for (at, value) in changes {
            damaged[from + at - 30] = value;
        }
        let header = read(&damaged, name).map_err(|say| TestCaseError::fail(say.key.into_owned()))?;
        prop_assert_eq!(header.stored, Some(WIDE));
    }
}

#[test]
fn a_file_that_says_its_length_is_as_long() {
    for name in
        [file!("lossy.webp").1, file!("lossless.webp").1, file!("moving.webp").1, file!("turned-6.webp").1]
    {
        assert_eq!(own_length(name), Some(name.len() as u64));
    }
    assert_eq!(own_length(b"RIFF"), None);
    assert_eq!(own_length(b"\x89PNG\r\n\x1a\n0000"), None);
}
