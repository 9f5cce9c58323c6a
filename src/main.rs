//! Arguments in, exit status out.

fn main() {}
