-- What the model cannot say: nobody drives twice at the same time.

ALTER TABLE travel.legs ADD CONSTRAINT legs_instructor_fk FOREIGN KEY (instructor_id) REFERENCES people.instructors (id);
ALTER TABLE travel.legs ADD CONSTRAINT legs_instructor_once
    EXCLUDE USING gist (instructor_id WITH =, tstzrange(left_at, arrived_at) WITH &&) WHERE (arrived_at IS NOT NULL);
