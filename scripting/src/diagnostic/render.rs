//! Diagnostics as text with source line and caret. The only code that knows about colour.

use annotate_snippets::{AnnotationKind, Group, Level as Drawn, Renderer, Snippet};

use super::source::Sources;
use super::{Diagnostic, Level, Place};

/// The text of a diagnostic; with colour codes when `colour` is set.
pub fn render(diagnostic: &Diagnostic, sources: &Sources, colour: bool) -> String {
    let level = match diagnostic.level {
        Level::Error => Drawn::ERROR,
        Level::Warning => Drawn::WARNING,
    };
    let mut group = Group::with_title(level.primary_title(diagnostic.what.as_str()));
    let mut label = diagnostic.note.as_deref();
    if let Some((place, text)) = located(diagnostic.place.as_ref(), sources) {
        let span = span(place, sources);
        group = group.element(
            Snippet::source(text)
                .path(place.file.as_str())
                .annotation(AnnotationKind::Primary.span(span).label(label.take())),
        );
    }
    if let Some(note) = label {
        group = group.element(Drawn::NOTE.message(note));
    }
    if let Some(help) = &diagnostic.help {
        group = group.element(Drawn::HELP.message(help.as_str()));
    }
    let mut report = vec![group];
    for frame in &diagnostic.trace {
        let mut group = Group::with_title(Drawn::NOTE.secondary_title(frame.what.as_str()));
        if let Some((place, text)) = located(frame.place.as_ref(), sources) {
            group = group.element(
                Snippet::source(text)
                    .path(place.file.as_str())
                    .annotation(AnnotationKind::Context.span(span(place, sources)).label("called here")),
            );
        }
        report.push(group);
    }
    let renderer = if colour { Renderer::styled() } else { Renderer::plain() };
    renderer.render(&report)
}

fn located<'p>(place: Option<&'p Place>, sources: &Sources) -> Option<(&'p Place, String)> {
    let place = place?;
    Some((place, sources.get(&place.file)?.text.to_string()))
}

fn span(place: &Place, sources: &Sources) -> std::ops::Range<usize> {
    sources.get(&place.file).map_or(0..0, |source| source.bytes(place.line, place.column, place.end))
}
