-- What the model cannot say.

-- Each letter is written once. By hash: a key is long, and an ordinary unique index of it is a fifth of all that letters take.
ALTER TABLE messages.messages ADD CONSTRAINT messages_once EXCLUDE USING hash (key WITH =);
