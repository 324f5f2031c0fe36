//! Photographs of nameplates: checked, written anew, kept.

use std::io::Cursor;

use axum::http::StatusCode;
use axum::http::header::{CACHE_CONTROL, CONTENT_TYPE};
use image::{DynamicImage, GenericImageView, ImageFormat, Rgb, RgbImage, Rgba, RgbaImage};

use super::hang;
use crate::plant::{Answer, Plant, Visitor};

const GAUGE: &str = "/gauges/LG-1107A";
const PHOTO: &str = "/gauges/LG-1107A/photo";

/// A picture whose left half is red and whose right half is blue.
fn halves(width: u32, height: u32) -> DynamicImage {
    DynamicImage::ImageRgb8(RgbImage::from_fn(width, height, |x, _| {
        if x < width / 2 {
            Rgb([200, 20, 20])
        } else {
            Rgb([20, 20, 200])
        }
    }))
}

/// A small photograph, as a file.
pub fn small_file() -> Vec<u8> {
    file(&halves(64, 48), ImageFormat::Jpeg)
}

fn file(picture: &DynamicImage, format: ImageFormat) -> Vec<u8> {
    let mut bytes = Cursor::new(Vec::new());
    picture.write_to(&mut bytes, format).expect("a file");
    bytes.into_inner()
}

/// The JPEG with an Exif segment that says how the camera was held (TIFF 6.0 tag 0x0112, as in
/// Exif 2.3 table 4) and where it was (a made-up maker note).
fn with_exif(jpeg: &[u8], orientation: u8) -> Vec<u8> {
    let mut exif = b"Exif\0\0MM\0\x2a\0\0\0\x08\0\x01\x01\x12\0\x03\0\0\0\x01\0".to_vec();
    exif.push(orientation);
    exif.extend_from_slice(&[0, 0, 0, 0, 0, 0]);
    exif.extend_from_slice(b"SECRET-PLACE");
    let length = u16::try_from(exif.len() + 2).expect("short");
    let mut out = jpeg[..2].to_vec();
    out.extend_from_slice(&[0xff, 0xe1]);
    out.extend_from_slice(&length.to_be_bytes());
    out.extend_from_slice(&exif);
    out.extend_from_slice(&jpeg[2..]);
    out
}

/// The checksum of a PNG chunk (PNG specification, annex D: CRC-32 of ISO 3309).
fn crc(bytes: &[u8]) -> u32 {
    !bytes.iter().fold(u32::MAX, |sum, byte| {
        (0..8).fold(sum ^ u32::from(*byte), |sum, _| {
            if sum & 1 == 1 {
                (sum >> 1) ^ 0xedb8_8320
            } else {
                sum >> 1
            }
        })
    })
}

async fn send(visitor: &mut Visitor, bytes: &[u8]) -> Answer {
    let key = visitor.get(GAUGE).await.field("key");
    visitor
        .upload(PHOTO, &[("key", &key)], ("photo", "IMG_0001.jpg", bytes))
        .await
}

/// The large and the small picture a page shows first.
async fn shown(visitor: &mut Visitor) -> (Answer, Answer) {
    let latest = visitor.get(PHOTO).await;
    latest.is(StatusCode::SEE_OTHER);
    let large = visitor.get(latest.goes_to()).await;
    let small = visitor.get(&format!("{}&small=1", latest.goes_to())).await;
    (large, small)
}

fn picture(answer: &Answer) -> DynamicImage {
    answer.is(StatusCode::OK);
    image::load_from_memory_with_format(&answer.bytes, ImageFormat::Jpeg).expect("a JPEG")
}

#[tokio::test]
async fn a_photograph_is_written_anew_smaller_and_may_be_kept_by_the_browser() {
    let plant = Plant::new().await;
    hang(&mut plant.engineer().await, &[]).await;
    let mut technician = plant.technician().await;
    let sent = file(&halves(3000, 1500), ImageFormat::Png);
    send(&mut technician, &sent).await.is(StatusCode::SEE_OTHER);
    let page = technician.get(GAUGE).await;
    page.says("2 Mar 2026, 09:00, Test technician");
    let (large, small) = shown(&mut technician).await;
    assert_eq!(picture(&large).dimensions(), (2000, 1000));
    assert_eq!(picture(&small).dimensions(), (480, 240));
    assert_eq!(large.headers[CONTENT_TYPE], "image/jpeg");
    assert_eq!(
        large.headers[CACHE_CONTROL],
        "private, max-age=31536000, immutable"
    );
    assert_eq!(large.headers["x-content-type-options"], "nosniff");
    assert_ne!(large.bytes, sent);
}

#[tokio::test]
async fn a_photograph_taken_on_its_side_stands_upright_and_loses_its_place() {
    let plant = Plant::new().await;
    hang(&mut plant.engineer().await, &[]).await;
    let mut technician = plant.technician().await;
    // Orientation 6: the camera was turned; showing it upright turns it 90 degrees clockwise, so
    // what was left comes to the top (Exif 2.3, table 4).
    let sent = with_exif(&file(&halves(600, 400), ImageFormat::Jpeg), 6);
    send(&mut technician, &sent).await.is(StatusCode::SEE_OTHER);
    let (large, _) = shown(&mut technician).await;
    let upright = picture(&large);
    assert_eq!(upright.dimensions(), (400, 600));
    let (top, bottom) = (upright.get_pixel(200, 50), upright.get_pixel(200, 550));
    assert!(top.0[0] > 150 && top.0[2] < 80, "red is on top: {top:?}");
    assert!(
        bottom.0[2] > 150 && bottom.0[0] < 80,
        "blue is below: {bottom:?}"
    );
    for bytes in [&large.bytes] {
        for word in [b"Exif".as_slice(), b"SECRET-PLACE"] {
            assert!(!bytes.windows(word.len()).any(|part| part == word));
        }
    }
}

#[tokio::test]
async fn png_and_webp_are_taken_and_what_shines_through_becomes_white() {
    let plant = Plant::new().await;
    hang(&mut plant.engineer().await, &[]).await;
    let mut technician = plant.technician().await;
    let clear = DynamicImage::ImageRgba8(RgbaImage::from_pixel(60, 40, Rgba([0, 0, 0, 0])));
    for format in [ImageFormat::Png, ImageFormat::WebP] {
        send(&mut technician, &file(&clear, format))
            .await
            .is(StatusCode::SEE_OTHER);
        let (large, _) = shown(&mut technician).await;
        assert!(
            picture(&large).get_pixel(30, 20).0[..3]
                .iter()
                .all(|c| *c > 250)
        );
    }
}

#[tokio::test]
async fn earlier_photographs_stay_readable() {
    let plant = Plant::new().await;
    hang(&mut plant.engineer().await, &[]).await;
    let mut technician = plant.technician().await;
    send(&mut technician, &file(&halves(100, 80), ImageFormat::Png)).await;
    let first = technician.get(PHOTO).await.goes_to().to_owned();
    plant.turn_to(time::macros::datetime!(2026-03-02 10:00 UTC));
    send(&mut technician, &file(&halves(120, 80), ImageFormat::Png)).await;
    let second = technician.get(PHOTO).await.goes_to().to_owned();
    assert_ne!(first, second);
    technician
        .get(GAUGE)
        .await
        .says("Earlier photographs (1)")
        .says("Photograph of the nameplate");
    assert_eq!(
        picture(&technician.get(&first).await).dimensions(),
        (100, 80)
    );
    assert_eq!(
        picture(&technician.get(&second).await).dimensions(),
        (120, 80)
    );
}

#[tokio::test]
async fn what_is_no_photograph_is_refused_in_plain_words_beside_the_field() {
    let plant = Plant::new().await;
    hang(&mut plant.engineer().await, &[]).await;
    let mut technician = plant.technician().await;
    let whole = file(&halves(400, 300), ImageFormat::Jpeg);
    let torn = file(&halves(400, 300), ImageFormat::Png);
    // A PNG that says it is 20 000 by 20 000 pixels (PNG specification, IHDR: bytes 16 to 23).
    let mut boastful = torn.clone();
    boastful[16..24].copy_from_slice(&[0, 0, 0x4e, 0x20, 0, 0, 0x4e, 0x20]);
    let sum = crc(&boastful[12..29]);
    boastful[29..33].copy_from_slice(&sum.to_be_bytes());
    let many_pixels = file(
        &DynamicImage::ImageLuma8(image::GrayImage::new(8000, 5000)),
        ImageFormat::Png,
    );
    let mut heavy = whole.clone();
    heavy.resize(12 * 1024 * 1024 + 1, 0);
    let none = "A photograph is a JPEG, PNG or WebP file; this is none of them";
    for (bytes, says) in [
        (b"".as_slice(), "Choose a photograph first"),
        (b"<svg xmlns=\"http://www.w3.org/2000/svg\"/>", none),
        (b"GIF89a\x01\0\x01\0\0\0\0;", none),
        (b"%PDF-1.7", none),
        (&torn[..torn.len() / 2], "This photograph cannot be read"),
        (&whole[..20], "This photograph cannot be read"),
        (&boastful, "The photograph is too large"),
        (
            &many_pixels,
            "The photograph is too large: at most 32 million pixels",
        ),
        (
            &heavy,
            "A photograph has at most 12 MB; this file is larger",
        ),
    ] {
        send(&mut technician, bytes)
            .await
            .is(StatusCode::UNPROCESSABLE_ENTITY)
            .says(says);
    }
    technician.get(GAUGE).await.says("No photograph yet");
    technician.get(PHOTO).await.is(StatusCode::NOT_FOUND);
}

#[tokio::test]
async fn a_photograph_without_this_session_s_key_is_not_taken() {
    let plant = Plant::new().await;
    hang(&mut plant.engineer().await, &[]).await;
    let mut technician = plant.technician().await;
    let bytes = file(&halves(100, 80), ImageFormat::Png);
    for key in [
        "",
        "0011223344556677889900aa.00112233445566778899aabbccddeeff",
    ] {
        technician
            .upload(PHOTO, &[("key", key)], ("photo", "a.png", &bytes))
            .await
            .is(StatusCode::BAD_REQUEST);
    }
    let mut storekeeper = plant.storekeeper().await;
    storekeeper
        .upload(PHOTO, &[("key", "")], ("photo", "a.png", &bytes))
        .await
        .is(StatusCode::FORBIDDEN);
}

#[tokio::test]
async fn pressing_twice_keeps_one_photograph() {
    let plant = Plant::new().await;
    hang(&mut plant.engineer().await, &[]).await;
    let mut technician = plant.technician().await;
    let bytes = file(&halves(100, 80), ImageFormat::Png);
    let key = technician.get(GAUGE).await.field("key");
    for _ in 0..2 {
        technician
            .upload(PHOTO, &[("key", &key)], ("photo", "a.png", &bytes))
            .await
            .is(StatusCode::SEE_OTHER);
    }
    technician
        .get(GAUGE)
        .await
        .does_not_say("Earlier photographs");
}

#[tokio::test]
async fn a_mark_of_another_gauge_s_photograph_shows_nothing() {
    let plant = Plant::new().await;
    let mut engineer = plant.engineer().await;
    hang(&mut engineer, &[]).await;
    hang(&mut engineer, &[("tag", "LG-2")]).await;
    send(&mut engineer, &file(&halves(100, 80), ImageFormat::Png)).await;
    let latest = engineer.get(PHOTO).await.goes_to().to_owned();
    let elsewhere = latest.replace("LG-1107A", "LG-2");
    engineer.get(&elsewhere).await.is(StatusCode::NOT_FOUND);
    for bad in ["?mark=zz", "?mark=%F0%9F%98%80", "?mark=00"] {
        engineer
            .get(&format!("{PHOTO}{bad}"))
            .await
            .is(StatusCode::NOT_FOUND);
    }
}
