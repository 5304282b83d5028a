// Package inputlist reads the assistant's input list as it is really typed: a
// CSV or XLSX file with a title above, columns in any order under many names,
// group rows, ditto marks, pairs in one row, a total below.
//
// Reading goes in five steps, a file each:
//
//	text, csv, xlsx   bytes → a grid of cells, with what was guessed
//	header            which row holds the headers, which column is which field
//	guess             columns from their contents, where there are no headers
//	rows              grid → lines: groups, dittos, totals, remarks
//	number, pair      "1/2", "7 & 8", "OH L/R" → two lines
//
// What could not be read for certain is a Problem with its row and column, and
// Understood says in a few lines what was made of the sheet: the person at the
// desk must be able to see a wrong reading before it costs a take.
//
// Names of columns and marks are common practice without a published source.
package inputlist
