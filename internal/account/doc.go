// Package account writes what the program can say of its work as JSON, in the shapes
// of docs/formats.md: what was understood of a sheet, why every note and chord of a
// page is there, and what each level of a ladder uses and keeps to.
package account
