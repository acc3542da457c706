-- +goose Up

-- How far each piece of a part is that is being made, as JSON.
ALTER TABLE part ADD COLUMN steps TEXT NOT NULL DEFAULT '';
