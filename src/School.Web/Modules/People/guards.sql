-- What the model cannot say. Constraint names are turned into sentences in ConstraintRefusals.cs.

ALTER TABLE people.people ADD CONSTRAINT people_instructor_fk FOREIGN KEY (instructor_id) REFERENCES people.instructors (id);
ALTER TABLE people.people ADD CONSTRAINT people_pupil_fk FOREIGN KEY (pupil_id) REFERENCES pupils.pupils (id);
ALTER TABLE people.people ADD CONSTRAINT people_wear_a_hat CHECK (parts <> 0 OR instructor_id IS NOT NULL OR pupil_id IS NOT NULL OR contact_id IS NOT NULL OR closed);
ALTER TABLE people.people ADD CONSTRAINT people_parts_known CHECK (parts BETWEEN 0 AND 31);
-- Names that look alike, as School.Core.People.SignInName.Look says it.
CREATE INDEX people_user_name_look ON people.people (replace(replace(translate(normalized_user_name, '01I-_', 'OLL..'), 'M', 'RN'), 'W', 'VV'));
ALTER TABLE people.api_tokens ADD CONSTRAINT api_tokens_person_fk FOREIGN KEY (person_id) REFERENCES people.people (id);
-- The words of names, without accents (Platform/Find/plain.sql).
CREATE INDEX contacts_name_plain ON people.contacts USING gin (platform.plain(name) public.gin_trgm_ops);
