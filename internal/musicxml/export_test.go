package musicxml

// Schema is schema, for tests from outside.
var Schema = schema
