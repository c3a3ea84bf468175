//! XML piece by piece: tags opened and closed, and the text between. No entities but those of XML itself, and no depth
//! without end.

use std::borrow::Cow;

use quick_xml::XmlVersion;
use quick_xml::events::{BytesEnd, BytesStart, Event};
use quick_xml::reader::Reader;

use super::bounds::MOST_DEPTH;
use super::pack::Unpacked;

/// A document being read.
pub(super) struct Xml<'a> {
    reader: Reader<Unpacked<'a>>,
    piece: Vec<u8>,
    depth: usize,
}

/// One piece of it.
pub(super) enum Piece<'p> {
    /// A tag is opened; one without content is closed by the next piece.
    Open(Tag<'p>),
    /// The tag opened last is closed.
    Close(End<'p>),
    /// Text, or a part of it.
    Text(Cow<'p, str>),
    /// What says nothing here.
    Other,
    /// The end.
    End,
}

/// The end of a tag.
pub(super) struct End<'p>(BytesEnd<'p>);

impl End<'_> {
    /// Whether it is called so, whatever the prefix.
    pub(super) fn is(&self, name: &str) -> bool {
        self.0.local_name().into_inner() == name.as_bytes()
    }
}

/// A tag with its attributes.
pub(super) struct Tag<'p>(BytesStart<'p>);

impl Tag<'_> {
    /// Its name without a prefix.
    pub(super) fn name(&self) -> String {
        String::from_utf8_lossy(self.0.local_name().into_inner()).into_owned()
    }

    /// Whether it is called so, whatever the prefix.
    pub(super) fn is(&self, name: &str) -> bool {
        self.0.local_name().into_inner() == name.as_bytes()
    }

    /// An attribute by its name without a prefix.
    pub(super) fn get(&self, name: &str) -> Option<String> {
        let mut found = self.0.attributes();
        let found = found
            .with_checks(false)
            .flatten()
            .find(|one| one.key.local_name().into_inner() == name.as_bytes())?;
        found
            .normalized_value(XmlVersion::Implicit1_0)
            .ok()
            .map(Cow::into_owned)
    }

    /// An attribute by its name with the prefix that is usual for it.
    pub(super) fn get_prefixed(&self, name: &str) -> Option<String> {
        let mut found = self.0.attributes();
        let found = found
            .with_checks(false)
            .flatten()
            .find(|one| one.key.into_inner() == name.as_bytes())?;
        found
            .normalized_value(XmlVersion::Implicit1_0)
            .ok()
            .map(Cow::into_owned)
    }

    /// An attribute as a whole number; none when it is not there, or is none.
    pub(super) fn number(&self, name: &str) -> Option<usize> {
        self.get(name)?.trim().parse().ok()
    }

    /// Whether an attribute says yes.
    pub(super) fn says(&self, name: &str) -> bool {
        self.get(name)
            .is_some_and(|value| matches!(value.trim(), "1" | "true" | "on"))
    }

    /// Whether it stands for something that is on unless its `val` says no.
    pub(super) fn is_on(&self) -> bool {
        self.get("val")
            .is_none_or(|value| !matches!(value.trim(), "0" | "false" | "off"))
    }
}

impl<'a> Xml<'a> {
    pub(super) fn new(file: Unpacked<'a>) -> Xml<'a> {
        let mut reader = Reader::from_reader(file);
        reader.config_mut().expand_empty_elements = true;
        Xml {
            reader,
            piece: Vec::new(),
            depth: 0,
        }
    }

    /// The next piece.
    pub(super) fn next(&mut self) -> Result<Piece<'_>, String> {
        self.piece.clear();
        self.reader.get_mut().since = 0;
        let event = self
            .reader
            .read_event_into(&mut self.piece)
            .map_err(|error| match error {
                quick_xml::Error::Io(error) => error.to_string(),
                other => format!("its XML is broken ({other})"),
            })?;
        Ok(match event {
            Event::Start(tag) | Event::Empty(tag) => {
                self.depth += 1;
                self.reader.get_ref().budget.tag()?;
                if self.depth > MOST_DEPTH {
                    return Err(format!("its tags are nested more than {MOST_DEPTH} deep"));
                }
                Piece::Open(Tag(tag))
            }
            Event::End(tag) => {
                self.depth = self.depth.saturating_sub(1);
                Piece::Close(End(tag))
            }
            Event::Text(text) => Piece::Text(text.xml10_content().map_err(|_| not_text())?),
            Event::CData(text) => Piece::Text(text.xml10_content().map_err(|_| not_text())?),
            Event::GeneralRef(name) => match name.resolve_char_ref() {
                Ok(Some(letter)) => Piece::Text(letter.to_string().into()),
                _ => Piece::Text(known_entity(&name.decode().map_err(|_| not_text())?)?.into()),
            },
            Event::DocType(text) if memchr::memmem::find(&text, b"<!ENTITY").is_some() => {
                return Err("it declares entities of its own, which are not read".to_owned());
            }
            Event::Eof => Piece::End,
            Event::DocType(_) | Event::Comment(_) | Event::PI(_) | Event::Decl(_) => Piece::Other,
        })
    }

    /// Reads on to the end of the tag that was opened last.
    pub(super) fn skip(&mut self) -> Result<(), String> {
        let outside = self.depth.saturating_sub(1);
        while self.depth > outside {
            let over = matches!(self.next()?, Piece::End);
            if over {
                return Ok(());
            }
        }
        Ok(())
    }

    /// All text within the tag that was opened last, but for tags of these names; longer ones are cut, and still too long.
    pub(super) fn text(&mut self, without: &[&str], most: usize) -> Result<String, String> {
        let outside = self.depth.saturating_sub(1);
        let mut found = String::new();
        while self.depth > outside {
            let (left_out, over) = match self.next()? {
                Piece::Text(text) => {
                    if found.len() <= most {
                        found.push_str(&text);
                    }
                    (false, false)
                }
                Piece::Open(tag) => (without.iter().any(|name| tag.is(name)), false),
                Piece::Close(_) | Piece::Other => (false, false),
                Piece::End => (false, true),
            };
            if over {
                break;
            }
            if left_out {
                self.skip()?;
            }
        }
        Ok(found)
    }
}

fn not_text() -> String {
    "it is not UTF-8 text".to_owned()
}

fn known_entity(name: &str) -> Result<&'static str, String> {
    quick_xml::escape::resolve_xml_entity(name).ok_or_else(|| {
        let shown: String = name.chars().take(20).collect();
        format!("it names an entity `{shown}`, and entities are not read")
    })
}
