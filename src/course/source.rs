//! The text of a course file, kept so that its lines can be shown long after it was read.

use std::ops::Range;
use std::sync::Arc;

use miette::{MietteError, MietteSpanContents, NamedSource, SourceCode, SourceSpan, SpanContents};

/// A place in the text, in bytes.
pub type Span = Range<usize>;

/// The text of a course file and the name by which messages call it. Cheap to clone.
#[derive(Debug, Clone)]
pub struct Source(Arc<Inner>);

#[derive(Debug)]
struct Inner {
    file: NamedSource<String>,
    /// Where each line but the first begins.
    breaks: Vec<usize>,
}

impl Source {
    /// `name` is what messages say, such as `course.toml`.
    pub fn new(name: &str, text: &str) -> Source {
        let breaks = text.match_indices('\n').map(|(idx, _)| idx + 1).collect();
        Source(Arc::new(Inner {
            file: NamedSource::new(name, text.to_owned()),
            breaks,
        }))
    }

    /// What messages call the file.
    pub fn name(&self) -> &str {
        self.0.file.name()
    }

    /// The whole file.
    pub fn text(&self) -> &str {
        self.0.file.inner()
    }

    /// The line that a byte stands in, counted from 1.
    pub fn line_of(&self, offset: usize) -> usize {
        1 + self.0.breaks.partition_point(|start| *start <= offset)
    }
}

impl SourceCode for Source {
    fn read_span<'a>(
        &'a self,
        span: &SourceSpan,
        n_lines_before: usize,
        n_lines_after: usize,
    ) -> Result<Box<dyn SpanContents<'a> + 'a>, MietteError> {
        let shown = self.0.file.read_span(span, n_lines_before, n_lines_after)?;
        // The count that comes with it is of all lines from the top of the file, by which two places far
        // apart would be shown with every line between them.
        let n_lines = shown.data().split(|byte| *byte == b'\n').count();
        Ok(Box::new(MietteSpanContents::new_named(
            self.name().to_owned(),
            shown.data(),
            *shown.span(),
            shown.line(),
            shown.column(),
            n_lines,
        )))
    }
}

/// The place of the whole line around a byte, without its line break.
pub(super) fn line_around(text: &str, offset: usize) -> Span {
    let bytes = text.as_bytes();
    let offset = offset.min(bytes.len());
    let is_break = |byte: &u8| *byte == b'\n';
    let start = bytes[..offset]
        .iter()
        .rposition(is_break)
        .map_or(0, |idx| idx + 1);
    let end = bytes[offset..]
        .iter()
        .position(is_break)
        .map_or(bytes.len(), |idx| offset + idx);
    let end = if end > start && bytes[end - 1] == b'\r' {
        end - 1
    } else {
        end
    };
    start..end
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_are_counted_from_one_and_cut_without_their_breaks() {
        let text = "a\r\nbc\n\nd";
        let source = Source::new("course.toml", text);
        for (offset, line, cut) in [
            (0, 1, "a"),
            (1, 1, "a"),
            (3, 2, "bc"),
            (5, 2, "bc"),
            (6, 3, ""),
            (7, 4, "d"),
            (8, 4, "d"),
            (99, 4, "d"),
        ] {
            assert_eq!(source.line_of(offset), line, "{offset}");
            assert_eq!(&text[line_around(text, offset)], cut, "{offset}");
        }
    }
}
