-- What the model cannot say. Constraint names are turned into sentences in ConstraintRefusals.cs.

ALTER TABLE people.people ADD CONSTRAINT people_instructor_fk FOREIGN KEY (instructor_id) REFERENCES people.instructors (id);
ALTER TABLE people.people ADD CONSTRAINT people_pupil_fk FOREIGN KEY (pupil_id) REFERENCES pupils.pupils (id);
ALTER TABLE people.people ADD CONSTRAINT people_role_link CHECK (
    (role = 'Instructor') = (instructor_id IS NOT NULL) AND (role = 'Pupil') = (pupil_id IS NOT NULL));
ALTER TABLE people.api_tokens ADD CONSTRAINT api_tokens_person_fk FOREIGN KEY (person_id) REFERENCES people.people (id);
