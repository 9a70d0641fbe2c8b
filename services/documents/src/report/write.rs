//! The bytes of a document that was laid out (ISO 32000-1; tags by 14.7 and 14.8).

use super::layout::{ARTIFACT, Layout, Run};
use crate::Unprintable;
use crate::typeface::{ADVANCE, Embedded, Weight, cells};
use pdf_writer::types::{ArtifactType, StructRole, TableHeaderScope};
use pdf_writer::{Content, Finish, Name, Pdf, Rect, Ref, TextStr};

/// US letter, in points.
const PAPER: (f32, f32) = (612.0, 792.0);
const MARGIN: f32 = 45.0;
const TYPE: f32 = 9.0;
const CHARACTER: f32 = TYPE * ADVANCE;
const LEADING: f32 = 12.0;

/// The two weights of a document.
struct Weights {
    plain: Embedded,
    bold: Embedded,
}

pub(super) fn document(
    title: &str,
    footer: &[String],
    layout: &Layout,
) -> Result<Vec<u8>, Unprintable> {
    let mut pdf = Pdf::new();
    let mut next = Ref::new(1);
    let (catalog, tree, info, root) = (next.bump(), next.bump(), next.bump(), next.bump());
    let mut weights = Weights {
        plain: Embedded::new(Weight::Plain, next.bump()),
        bold: Embedded::new(Weight::Bold, next.bump()),
    };
    let pages: Vec<(Ref, Ref, Ref)> = layout
        .pages
        .iter()
        .map(|_| (next.bump(), next.bump(), next.bump()))
        .collect();
    let elements: Vec<Ref> = layout.elements.iter().map(|_| next.bump()).collect();
    let mut written = pdf.catalog(catalog);
    written.pages(tree).lang(TextStr("en"));
    written.mark_info().marked(true);
    written.viewer_preferences().display_doc_title(true);
    written.pair(Name(b"StructTreeRoot"), root);
    written.finish();
    pdf.document_info(info)
        .title(TextStr(title))
        .creator(TextStr("lotwarden"));
    pdf.pages(tree)
        .kids(pages.iter().map(|(page, ..)| *page))
        .count(i32::try_from(pages.len()).unwrap_or(i32::MAX));
    for (number, ((page, stream, parents), runs)) in pages.iter().zip(&layout.pages).enumerate() {
        let place = format!("Page {} of {}", number + 1, pages.len());
        let content = content(&mut weights, runs, footer, &place);
        pdf.stream(*stream, &content.finish());
        let mut written = pdf.page(*page);
        written
            .parent(tree)
            .media_box(Rect::new(0.0, 0.0, PAPER.0, PAPER.1))
            .contents(*stream)
            .struct_parents(key(number));
        let mut resources = written.resources();
        let mut fonts = resources.fonts();
        for weight in [&weights.plain, &weights.bold] {
            fonts.pair(weight.name, weight.id);
        }
        fonts.finish();
        resources.finish();
        written.finish();
        let of_run = |run: &Run| elements.get(run.element).copied();
        pdf.indirect(*parents)
            .array()
            .items(runs.iter().filter_map(of_run));
    }
    let mut written = pdf
        .indirect(root)
        .start::<pdf_writer::writers::StructTreeRoot<'_>>();
    if let Some(first) = elements.first() {
        written.child(*first);
    }
    let mut keys = written.parent_tree();
    let mut numbers = keys.nums();
    for (number, (.., parents)) in pages.iter().enumerate() {
        numbers.insert(key(number), *parents);
    }
    numbers.finish();
    keys.finish();
    written.parent_tree_next_key(key(pages.len()));
    written.finish();
    structure(&mut pdf, root, &pages, &elements, layout);
    weights.plain.write(&mut pdf, &mut next)?;
    weights.bold.write(&mut pdf, &mut next)?;
    Ok(pdf.finish())
}

fn key(number: usize) -> i32 {
    i32::try_from(number).unwrap_or(i32::MAX)
}

/// The runs of a page, each marked as the content of its element, and its foot.
fn content(weights: &mut Weights, runs: &[Run], footer: &[String], place: &str) -> Content {
    let mut content = Content::new();
    let mut mark = 0;
    for run in runs {
        let left = MARGIN + CHARACTER * run.left as f32;
        let top = PAPER.1 - MARGIN - LEADING * (run.line + 1) as f32;
        let weight = match run.bold {
            true => &mut weights.bold,
            false => &mut weights.plain,
        };
        if run.element == ARTIFACT {
            artifact(&mut content);
        } else {
            content
                .begin_marked_content_with_properties(Name(b"P"))
                .properties()
                .identify(mark);
            mark += 1;
        }
        weight.show(&mut content, TYPE, (left, top), &run.text);
        content.end_marked_content();
    }
    artifact(&mut content);
    let lines = footer.iter().map(String::as_str).chain([place]);
    for (at, line) in lines.rev().enumerate() {
        let low = MARGIN + LEADING * at as f32;
        let (line, _) = cells(line);
        weights.plain.show(&mut content, TYPE, (MARGIN, low), &line);
    }
    content.end_marked_content();
    content
}

fn artifact(content: &mut Content) {
    content
        .begin_marked_content_with_properties(Name(b"Artifact"))
        .properties()
        .artifact()
        .kind(ArtifactType::Pagination);
}

/// The structure elements, each with its kids in the order of the pages.
fn structure(
    pdf: &mut Pdf,
    root: Ref,
    pages: &[(Ref, Ref, Ref)],
    elements: &[Ref],
    layout: &Layout,
) {
    let mut marks: Vec<Vec<(Ref, i32)>> = vec![Vec::new(); elements.len()];
    for ((page, ..), runs) in pages.iter().zip(&layout.pages) {
        let marked = runs.iter().filter(|run| run.element != ARTIFACT);
        for (mark, run) in marked.enumerate() {
            if let Some(own) = marks.get_mut(run.element) {
                own.push((*page, key(mark)));
            }
        }
    }
    let mut kids: Vec<Vec<Ref>> = vec![Vec::new(); elements.len()];
    for (element, id) in layout.elements.iter().zip(elements).skip(1) {
        if let Some(own) = kids.get_mut(element.parent) {
            own.push(*id);
        }
    }
    let all = layout
        .elements
        .iter()
        .zip(elements)
        .zip(marks.iter().zip(&kids));
    for (at, ((element, id), (marks, kids))) in all.enumerate() {
        let parent = match at {
            0 => Some(&root),
            _ => elements.get(element.parent),
        };
        let mut written = pdf.struct_element(*id);
        written.kind(element.role);
        if let Some(parent) = parent {
            written.parent(*parent);
        }
        if element.role == StructRole::TH {
            let mut attributes = written.attributes();
            attributes.push().table().scope(TableHeaderScope::Both);
        }
        let mut children = written.children();
        for kid in kids {
            children.struct_element(*kid);
        }
        for (page, mark) in marks {
            children
                .marked_content_ref()
                .page(*page)
                .marked_content_id(*mark);
        }
    }
}
