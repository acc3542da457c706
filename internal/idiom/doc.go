// Package idiom holds the kinds of tune as data: a hymn, a jig, a waltz, a swing
// song. One TOML file (kinds/) says of a kind how a sheet of it is recognised, how
// it moves, what the left hand plays at each level, which colours and ornaments
// belong to it and whether the tune may be pushed. A teacher can add her own in the
// same form. The package weighs what stands on a sheet; it chooses no notes.
package idiom
