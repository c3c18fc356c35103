//! Rule books: limits, tables and severities, each figure with its source.
