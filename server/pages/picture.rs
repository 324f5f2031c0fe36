//! A photograph on its way in: read within limits, turned upright, made smaller and written anew as
//! JPEG, so that nothing of the uploaded file is ever served. Its place and time stay behind.

use std::io::Cursor;

use image::codecs::jpeg::JpegEncoder;
use image::imageops::FilterType;
use image::{DynamicImage, ImageDecoder, ImageError, ImageFormat, ImageReader, Limits, RgbImage};
use sha2::{Digest, Sha256};
use tokio::sync::Semaphore;

use crate::acts::in_service::Photograph;

/// Largest file taken, in bytes.
pub const MOST_BYTES: usize = 12 * 1024 * 1024;
/// Most pixels a side.
const MOST_SIDE: u32 = 12_000;
/// Most pixels in all.
const MOST_PIXELS: u64 = 32_000_000;
/// Most memory a decoder may take, in bytes: the pixels four bytes each, and its own tables.
const MOST_MEMORY: u64 = 160 * 1024 * 1024;
/// Longest side of what is kept, in pixels: enough to read stamped letters.
const LARGE: u32 = 2000;
/// Longest side of the small picture, in pixels.
const SMALL: u32 = 480;

/// One photograph is worked on at a time, so that several at once cannot take all memory.
static ONE_AT_A_TIME: Semaphore = Semaphore::const_new(1);

/// Reads an uploaded photograph and makes it ready to keep.
///
/// # Errors
/// Says in plain words what a photograph should be instead.
pub async fn ready(bytes: Vec<u8>) -> Result<Photograph, String> {
    let _turn = ONE_AT_A_TIME.acquire().await;
    tokio::task::spawn_blocking(move || made_ready(&bytes))
        .await
        .unwrap_or_else(|error| {
            tracing::warn!(%error, "a photograph broke its decoder");
            Err(UNREADABLE.to_owned())
        })
}

const UNREADABLE: &str = "This photograph cannot be read; take it again, or save it as JPEG";

fn made_ready(bytes: &[u8]) -> Result<Photograph, String> {
    let format = image::guess_format(bytes).ok().filter(|format| {
        matches!(
            format,
            ImageFormat::Jpeg | ImageFormat::Png | ImageFormat::WebP
        )
    });
    let Some(format) = format else {
        return Err("A photograph is a JPEG, PNG or WebP file; this is none of them".to_owned());
    };
    let upright = decoded(bytes, format).map_err(|error| match error {
        ImageError::Limits(_) => format!(
            "The photograph is too large: at most {} million pixels and {MOST_SIDE} a side",
            MOST_PIXELS / 1_000_000
        ),
        other => {
            tracing::info!(error = %other, "a photograph could not be read");
            UNREADABLE.to_owned()
        }
    })?;
    let large = on_white(within(upright, LARGE));
    let small = DynamicImage::ImageRgb8(large.clone())
        .thumbnail(SMALL, SMALL)
        .to_rgb8();
    let jpeg = written(&large, 85)?;
    let small_jpeg = written(&small, 78)?;
    Ok(Photograph {
        width: large.width(),
        height: large.height(),
        sha256: Sha256::digest(&jpeg).into(),
        jpeg,
        small_jpeg,
    })
}

/// The picture as it was meant to be looked at.
fn decoded(bytes: &[u8], format: ImageFormat) -> Result<DynamicImage, ImageError> {
    let mut limits = Limits::default();
    limits.max_image_width = Some(MOST_SIDE);
    limits.max_image_height = Some(MOST_SIDE);
    limits.max_alloc = Some(MOST_MEMORY);
    let mut reader = ImageReader::with_format(Cursor::new(bytes), format);
    reader.limits(limits.clone());
    let mut decoder = reader.into_decoder()?;
    let (width, height) = decoder.dimensions();
    limits.check_dimensions(width, height)?;
    if u64::from(width) * u64::from(height) > MOST_PIXELS || decoder.total_bytes() > MOST_MEMORY {
        return Err(ImageError::Limits(image::error::LimitError::from_kind(
            image::error::LimitErrorKind::DimensionError,
        )));
    }
    let orientation = decoder.orientation()?;
    let mut picture = DynamicImage::from_decoder(decoder)?;
    picture.apply_orientation(orientation);
    Ok(picture)
}

fn within(picture: DynamicImage, most: u32) -> DynamicImage {
    if picture.width() <= most && picture.height() <= most {
        picture
    } else {
        picture.resize(most, most, FilterType::Triangle)
    }
}

/// Without transparency, which JPEG does not know: what shines through is white paper.
fn on_white(picture: DynamicImage) -> RgbImage {
    if !picture.color().has_alpha() {
        return picture.into_rgb8();
    }
    let rgba = picture.into_rgba8();
    let mut rgb = RgbImage::new(rgba.width(), rgba.height());
    for (from, to) in rgba.pixels().zip(rgb.pixels_mut()) {
        let [red, green, blue, alpha] = from.0.map(u16::from);
        let mixed = |colour: u16| {
            u8::try_from((colour * alpha + 255 * (255 - alpha)) / 255).unwrap_or(u8::MAX)
        };
        to.0 = [mixed(red), mixed(green), mixed(blue)];
    }
    rgb
}

fn written(picture: &RgbImage, quality: u8) -> Result<Vec<u8>, String> {
    let mut jpeg = Vec::new();
    JpegEncoder::new_with_quality(&mut jpeg, quality)
        .encode_image(picture)
        .map_err(|error| {
            tracing::error!(%error, "a photograph could not be written");
            UNREADABLE.to_owned()
        })?;
    Ok(jpeg)
}
