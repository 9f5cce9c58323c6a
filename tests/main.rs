//! System tests of the host tool: one binary, one module for each area.
//!
//! A new area is a file beside this one and a `mod` line here.
