//! PDFs as the crate `lopdf` reads them.

use lopdf::Document;

/// The texts of all pages, each piece of a line on a line of its own.
///
/// # Panics
/// When it is no PDF, or its text cannot be read.
pub fn shown(bytes: &[u8]) -> String {
    let document = Document::load_mem(bytes).expect("a PDF");
    let pages: Vec<u32> = document.get_pages().into_keys().collect();
    document.extract_text(&pages).expect("its text")
}
