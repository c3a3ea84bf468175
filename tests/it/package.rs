//! Workbooks made by hand for tests: a zip archive written byte by byte, so that it may lie, and the parts of .xlsx and .ods.

use std::io::Write;

use flate2::write::DeflateEncoder;
use flate2::{Compression, Crc};

/// A file for an archive: its name, its packed bytes, what they unpack to, and their checksum.
pub(crate) struct Member {
    name: String,
    packed: Vec<u8>,
    /// What the directory says it unpacks to.
    pub(crate) said: u32,
    /// What the directory says of its checksum.
    pub(crate) crc: u32,
}

/// Packs a file.
pub(crate) fn member(name: &str, bytes: &[u8]) -> Member {
    packed(name, std::iter::once(bytes.to_vec()), Compression::best())
}

/// Packs a file that comes in pieces.
pub(crate) fn member_of(name: &str, pieces: impl Iterator<Item = Vec<u8>>) -> Member {
    packed(name, pieces, Compression::fast())
}

fn packed(name: &str, pieces: impl Iterator<Item = Vec<u8>>, how: Compression) -> Member {
    let (mut encoder, mut crc) = (DeflateEncoder::new(Vec::new(), how), Crc::new());
    for piece in pieces {
        crc.update(&piece);
        encoder.write_all(&piece).unwrap();
    }
    Member {
        name: name.to_owned(),
        packed: encoder.finish().unwrap(),
        said: crc.amount(),
        crc: crc.sum(),
    }
}

/// An archive of these files.
pub(crate) fn archive(members: &[Member]) -> Vec<u8> {
    let (mut out, mut directory) = (Vec::new(), Vec::new());
    for one in members {
        let start = out.len() as u32;
        let sizes: Vec<u8> = [one.crc, one.packed.len() as u32, one.said]
            .iter()
            .flat_map(|n| n.to_le_bytes())
            .collect();
        let lengths = [one.name.len() as u16, 0].map(u16::to_le_bytes).concat();
        out.extend(
            [
                &b"PK\x03\x04\x14\0\0\0\x08\0\0\0\0\0"[..],
                &sizes,
                &lengths,
                one.name.as_bytes(),
                &one.packed,
            ]
            .concat(),
        );
        directory.extend(
            [
                &b"PK\x01\x02\x14\0\x14\0\0\0\x08\0\0\0\0\0"[..],
                &sizes,
                &lengths,
                &[0; 10],
                &start.to_le_bytes(),
            ]
            .concat(),
        );
        directory.extend(one.name.as_bytes());
    }
    let start = out.len() as u32;
    let count = (members.len() as u16).to_le_bytes();
    out.extend(&directory);
    let end = [
        &b"PK\x05\x06\0\0\0\0"[..],
        &count,
        &count,
        &(directory.len() as u32).to_le_bytes(),
        &start.to_le_bytes(),
        &[0; 2],
    ];
    out.extend(end.concat());
    out
}

/// A cell with a text.
pub(crate) fn s(text: &str) -> String {
    format!("<c t=\"inlineStr\"><is><t>{text}</t></is></c>")
}

/// A cell with a number that looks as a style has it.
pub(crate) fn n(number: &str, style: usize) -> String {
    format!("<c s=\"{style}\"><v>{number}</v></c>")
}

/// Looks: 0 plain, 1 percentage, 2 euro, 3 struck out, 4 dollar, 5 a day, 6 kilograms, 7 grams, 8 pounds of mass, 9 kilograms shown
/// of grams, 10 pounds sterling, 11 yen or yuan, 12 a crown.
const STYLES: &str = "<styleSheet><numFmts><numFmt numFmtId=\"164\" formatCode=\"#,##0.00\\ [$€-407]\"/><numFmt numFmtId=\"165\" formatCode=\"&quot;$&quot;#,##0.00\"/>\
    <numFmt numFmtId=\"166\" formatCode=\"0.0 &quot;kg&quot;\"/><numFmt numFmtId=\"167\" formatCode=\"0.0\\ \\g\"/>\
    <numFmt numFmtId=\"168\" formatCode=\"0.0 &quot;lb&quot;\"/><numFmt numFmtId=\"169\" formatCode=\"0.0,&quot; kg&quot;\"/>\
    <numFmt numFmtId=\"170\" formatCode=\"[$£-809]#,##0.00\"/><numFmt numFmtId=\"171\" formatCode=\"[$¥-804]#,##0.00\"/>\
    <numFmt numFmtId=\"172\" formatCode=\"#,##0.00\\ [$kr-414]\"/></numFmts>\
    <fonts><font/><font><strike/></font></fonts><cellStyleXfs><xf numFmtId=\"9\"/></cellStyleXfs>\
    <cellXfs><xf numFmtId=\"0\"/><xf numFmtId=\"9\"/><xf numFmtId=\"164\"/><xf numFmtId=\"0\" fontId=\"1\"/><xf numFmtId=\"165\"/><xf numFmtId=\"14\"/>\
    <xf numFmtId=\"166\"/><xf numFmtId=\"167\"/><xf numFmtId=\"168\"/><xf numFmtId=\"169\"/><xf numFmtId=\"170\"/>\
    <xf numFmtId=\"171\"/><xf numFmtId=\"172\"/></cellXfs></styleSheet>";

/// The parts of an .xlsx with these sheets: name and what stands between the tags of the worksheet.
pub(crate) fn xlsx_parts(sheets: &[(&str, &str)]) -> Vec<Member> {
    let mut list = String::new();
    let mut links =
        String::from("<Relationship Id=\"st\" Type=\"http://x/styles\" Target=\"styles.xml\"/>");
    let mut all = Vec::new();
    for (at, (name, inner)) in sheets.iter().enumerate() {
        list += &format!("<sheet name=\"{name}\" sheetId=\"{at}\" r:id=\"r{at}\"/>");
        links += &format!(
            "<Relationship Id=\"r{at}\" Type=\"http://x/worksheet\" Target=\"worksheets/s{at}.xml\"/>"
        );
        all.push(member(
            &format!("xl/worksheets/s{at}.xml"),
            format!("<?xml version=\"1.0\"?><worksheet>{inner}</worksheet>").as_bytes(),
        ));
    }
    links += "<Relationship Id=\"ss\" Type=\"http://x/sharedStrings\" Target=\"/xl/sharedStrings.xml\"/>";
    all.push(member(
        "xl/workbook.xml",
        format!("<workbook xmlns:r=\"r\"><sheets>{list}</sheets></workbook>").as_bytes(),
    ));
    all.push(member(
        "xl/_rels/workbook.xml.rels",
        format!("<Relationships>{links}</Relationships>").as_bytes(),
    ));
    all.push(member("xl/styles.xml", STYLES.as_bytes()));
    let main = "<Relationships><Relationship Id=\"m\" Type=\"http://x/officeDocument\" Target=\"xl/workbook.xml\"/></Relationships>";
    all.push(member("_rels/.rels", main.as_bytes()));
    all
}

/// Rows of an .xlsx.
pub(crate) fn rows(rows: &[Vec<String>]) -> String {
    let row = |cells: &Vec<String>| format!("<row>{}</row>", cells.concat());
    format!(
        "<sheetData>{}</sheetData>",
        rows.iter().map(row).collect::<String>()
    )
}

/// A cell of an .ods with a text.
pub(crate) fn o(text: &str) -> String {
    format!(
        "<table:table-cell office:value-type=\"string\"><text:p>{text}</text:p></table:table-cell>"
    )
}

/// An .ods with these tables: name and what stands between their tags.
pub(crate) fn ods(tables: &[(&str, &str)]) -> Vec<u8> {
    let table = |(name, inner): &(&str, &str)| {
        format!("<table:table table:name=\"{name}\">{inner}</table:table>")
    };
    let styles = "<style:style style:name=\"gone\"><style:text-properties style:text-line-through-style=\"solid\"/></style:style>\
                  <style:style style:name=\"away\"><style:table-properties table:display=\"false\"/></style:style>";
    let body: String = tables.iter().map(table).collect();
    let text = format!(
        "<office:document-content xmlns:office=\"o\" xmlns:table=\"t\" xmlns:text=\"x\" xmlns:style=\"s\" xmlns:calcext=\"c\">\
         <office:automatic-styles>{styles}</office:automatic-styles><office:body><office:spreadsheet>{body}</office:spreadsheet></office:body></office:document-content>"
    );
    archive(&[
        member(
            "mimetype",
            b"application/vnd.oasis.opendocument.spreadsheet",
        ),
        member("content.xml", text.as_bytes()),
    ])
}

/// Rows of an .ods.
pub(crate) fn ods_rows(rows: &[Vec<String>]) -> String {
    rows.iter()
        .map(|cells| format!("<table:table-row>{}</table:table-row>", cells.concat()))
        .collect()
}
