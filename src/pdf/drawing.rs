//! A drawing of a page, read with the colours of paper.

use std::sync::{Arc, LazyLock};

use usvg::{Options, Tree, fontdb::Database};

/// The look of the marks and the plan in black ink: the style sheet of the screen speaks of variables.
const INK: &str = include_str!("drawing.css");

static FONTS: LazyLock<Arc<Database>> = LazyLock::new(|| {
    let mut fonts = Database::new();
    fonts.load_font_data(notosans::REGULAR_TTF.to_vec());
    fonts.load_font_data(notosans::BOLD_TTF.to_vec());
    fonts.set_sans_serif_family("Noto Sans");
    Arc::new(fonts)
});

/// Reads an `svg` element out of a page; `None` where it is none.
pub(super) fn tree(svg: &str) -> Option<Tree> {
    let named =
        svg.replacen("<svg", "<svg xmlns=\"http://www.w3.org/2000/svg\"", 1).replace("&nbsp;", "\u{a0}");
    let options = Options {
        style_sheet: Some(INK.to_owned()),
        fontdb: Arc::clone(&FONTS),
        font_family: "Noto Sans".to_owned(),
        ..Options::default()
    };
    Tree::from_str(&named, &options).ok()
}
