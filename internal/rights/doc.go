// Package rights reads what a teacher knows about who owns a tune from the file
// NAME.rights.toml beside its sheet, and says what is missing before pages made
// from the tune may be published.
//
// It keeps what it is told and decides nothing: no tune becomes free because of
// a date. What it says is general words, no legal advice; the law of the place
// and, where there is doubt, somebody who knows it, come first. Private practice
// never needs any of it.
package rights
