-- What the model cannot say.

ALTER TABLE calendars.feeds ADD CONSTRAINT feeds_owner_fk FOREIGN KEY (owner_person_id) REFERENCES people.people (id);
