//! Room for `import`: to be filled.
