-- What the model cannot say: entries come to nought, and nothing of the books is ever rewritten.

ALTER TABLE accounts.entries ADD CONSTRAINT entries_pupil_fk FOREIGN KEY (pupil_id) REFERENCES pupils.pupils (id);
ALTER TABLE accounts.blocks ADD CONSTRAINT blocks_pupil_fk FOREIGN KEY (pupil_id) REFERENCES pupils.pupils (id);
ALTER TABLE accounts.payments ADD CONSTRAINT payments_pupil_fk FOREIGN KEY (pupil_id) REFERENCES pupils.pupils (id);
ALTER TABLE accounts.terms_accepted ADD CONSTRAINT terms_accepted_pupil_fk FOREIGN KEY (pupil_id) REFERENCES pupils.pupils (id);
ALTER TABLE accounts.decided_fees ADD CONSTRAINT decided_fees_pupil_fk FOREIGN KEY (pupil_id) REFERENCES pupils.pupils (id);
ALTER TABLE accounts.entries ADD CONSTRAINT entries_reverses_fk FOREIGN KEY (reverses_id) REFERENCES accounts.entries (id);

CREATE FUNCTION accounts.refuse_unbalanced() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF (SELECT coalesce(sum(pence), 1) FROM accounts.lines WHERE entry_id = NEW.entry_id) <> 0 THEN
        RAISE EXCEPTION 'entry % does not balance', NEW.entry_id;
    END IF;
    RETURN NULL;
END $$;
CREATE CONSTRAINT TRIGGER lines_balance AFTER INSERT ON accounts.lines
    DEFERRABLE INITIALLY DEFERRED FOR EACH ROW EXECUTE FUNCTION accounts.refuse_unbalanced();

CREATE TRIGGER entries_only_added BEFORE UPDATE OR DELETE ON accounts.entries FOR EACH ROW EXECUTE FUNCTION records.refuse_change();
CREATE TRIGGER lines_only_added BEFORE UPDATE OR DELETE ON accounts.lines FOR EACH ROW EXECUTE FUNCTION records.refuse_change();
CREATE TRIGGER prices_only_added BEFORE UPDATE OR DELETE ON accounts.prices FOR EACH ROW EXECUTE FUNCTION records.refuse_change();
CREATE TRIGGER fees_only_added BEFORE UPDATE OR DELETE ON accounts.fees FOR EACH ROW EXECUTE FUNCTION records.refuse_change();
CREATE TRIGGER blocks_only_added BEFORE UPDATE OR DELETE ON accounts.blocks FOR EACH ROW EXECUTE FUNCTION records.refuse_change();
CREATE TRIGGER payments_only_added BEFORE UPDATE OR DELETE ON accounts.payments FOR EACH ROW EXECUTE FUNCTION records.refuse_change();
CREATE TRIGGER terms_only_added BEFORE UPDATE OR DELETE ON accounts.terms FOR EACH ROW EXECUTE FUNCTION records.refuse_change();
CREATE TRIGGER terms_accepted_only_added BEFORE UPDATE OR DELETE ON accounts.terms_accepted FOR EACH ROW EXECUTE FUNCTION records.refuse_change();
