//! Host tool.
