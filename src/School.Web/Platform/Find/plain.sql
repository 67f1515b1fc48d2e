-- How everything that is found by its words is compared: without accents, in small letters, a space before each word and one at the end.
-- Immutable, so that an index can hold it: the dictionary is named by its schema, which is why unaccent alone is only stable.
CREATE FUNCTION platform.plain(words text) RETURNS text LANGUAGE sql IMMUTABLE STRICT PARALLEL SAFE AS $$
    SELECT ' ' || translate(lower(public.unaccent('public.unaccent'::regdictionary, words)), '-.,/()&"_:;''’‘`‐‑–—', '                   ') || ' '
$$;
