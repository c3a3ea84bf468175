//! The floor of the benchmark: reads the records of a list and writes the same records again, with the csv crate.
//! `cargo run --release --example csv_copy LIST > COPY`; nothing of this project's is in it.

use std::io::{self, BufWriter};

fn main() -> Result<(), csv::Error> {
    let path = std::env::args().nth(1).unwrap_or_default();
    let mut reader = csv::ReaderBuilder::new()
        .has_headers(false)
        .buffer_capacity(1 << 17)
        .from_path(path)?;
    let mut writer = csv::WriterBuilder::new()
        .buffer_capacity(1 << 17)
        .from_writer(BufWriter::with_capacity(1 << 17, io::stdout().lock()));
    let mut record = csv::ByteRecord::new();
    while reader.read_byte_record(&mut record)? {
        writer.write_byte_record(&record)?;
    }
    writer.flush().map_err(csv::Error::from)
}
