// Package crosscheck holds no code: its tests hold the meters to programs and
// libraries that others wrote, on made-up sound that goes the whole way through a
// file. Expected is what the other says, measured is ours; every comparison is a
// row of CONFORMANCE.md under "Reference libraries".
//
// Where a reference is not installed its tests are skipped, unless the variable
// TIDEMARK_NEED_REFERENCES is 1, as `./test --references` sets it.
package crosscheck
