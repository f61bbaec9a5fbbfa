//! From a drawing to a file.

use super::canvas::Canvas;
use super::text::{FAMILY, fonts};
use krilla::Document;
use krilla::metadata::Metadata;
use krilla::page::PageSettings;
use krilla_svg::{SurfaceExt, SvgSettings};
use resvg::tiny_skia::{Pixmap, Transform};
use resvg::usvg::{Options, Tree};

/// A drawing could not be turned into a file. A mistake of ours: whatever a
/// name holds, a drawing of it can be rendered.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("the drawing could not be rendered: {0}")]
pub struct DrawingError(String);

impl DrawingError {
    fn new(why: impl std::fmt::Debug) -> DrawingError {
        DrawingError(format!("{why:?}"))
    }
}

fn tree(canvas: &Canvas, per_unit: i64) -> Result<Tree, DrawingError> {
    let options = Options {
        fontdb: fonts(),
        font_family: FAMILY.into(),
        ..Options::default()
    };
    Tree::from_str(&canvas.svg(per_unit), &options).map_err(DrawingError::new)
}

/// One page of PDF, ten units of the drawing to a point (1/72 inch). Text stays
/// text, and of each font the glyphs that are used are embedded.
pub(super) fn pdf(canvas: &Canvas, title: &str, language: &str) -> Result<Vec<u8>, DrawingError> {
    let tree = tree(canvas, 10)?;
    let size = (tree.size().width(), tree.size().height());
    let page = PageSettings::from_wh(size.0, size.1)
        .ok_or_else(|| DrawingError::new("a page without a size"))?;
    let drawn = krilla::geom::Size::from_wh(size.0, size.1)
        .ok_or_else(|| DrawingError::new("a drawing without a size"))?;
    let mut document = Document::new();
    document.set_metadata(
        Metadata::new()
            .title(title.into())
            .language(language.into())
            .producer("vialbell".into()),
    );
    let mut page = document.start_page_with(page);
    let mut surface = page.surface();
    surface
        .draw_svg(&tree, drawn, SvgSettings::default())
        .ok_or_else(|| DrawingError::new("the page could not be drawn"))?;
    surface.finish();
    page.finish();
    document.finish().map_err(DrawingError::new)
}

/// A PNG, one unit of the drawing to a pixel.
pub(super) fn png(canvas: &Canvas) -> Result<Vec<u8>, DrawingError> {
    let tree = tree(canvas, 1)?;
    let size = tree.size().to_int_size();
    let mut pixels = Pixmap::new(size.width(), size.height())
        .ok_or_else(|| DrawingError::new("a picture without a size"))?;
    resvg::render(&tree, Transform::identity(), &mut pixels.as_mut());
    pixels.encode_png().map_err(DrawingError::new)
}
