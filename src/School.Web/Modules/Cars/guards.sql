-- What the model cannot say: a car is with one instructor at a time.

ALTER TABLE cars.holdings ADD CONSTRAINT holdings_car_once
    EXCLUDE USING gist (car_id WITH =, daterange("from", "to", '[]') WITH &&);
ALTER TABLE cars.holdings ADD CONSTRAINT holdings_instructor_fk FOREIGN KEY (instructor_id) REFERENCES people.instructors (id);
ALTER TABLE cars.off_road ALTER COLUMN version SET DEFAULT 1;
