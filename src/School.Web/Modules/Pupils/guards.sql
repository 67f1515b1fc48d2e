-- What the model cannot say.

ALTER TABLE pupils.pupils ADD CONSTRAINT pupils_usual_instructor_fk FOREIGN KEY (usual_instructor_id) REFERENCES people.instructors (id);
ALTER TABLE pupils.availability ADD CONSTRAINT availability_once EXCLUDE USING gist (
    pupil_id WITH =, day WITH =, int4range(extract(epoch FROM "from")::int, extract(epoch FROM "to")::int) WITH &&);
ALTER TABLE pupils.beside ADD CONSTRAINT beside_contact_fk FOREIGN KEY (contact_id) REFERENCES people.contacts (id) DEFERRABLE INITIALLY DEFERRED;
-- The words of names, without accents (Platform/Find/plain.sql).
CREATE INDEX pupils_name_plain ON pupils.pupils USING gin (platform.plain(name) public.gin_trgm_ops);
