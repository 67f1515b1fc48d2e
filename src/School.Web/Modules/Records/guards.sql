-- What the model cannot say: the database as the last guard against rewriting history.

CREATE FUNCTION records.refuse_change() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    RAISE EXCEPTION 'rows of %.% are only ever added', TG_TABLE_SCHEMA, TG_TABLE_NAME;
END $$;
CREATE TRIGGER audit_only_added BEFORE UPDATE OR DELETE ON records.audit
    FOR EACH ROW EXECUTE FUNCTION records.refuse_change();
