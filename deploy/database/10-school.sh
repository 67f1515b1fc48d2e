#!/bin/sh
# Runs once, when the database container makes its data folder: an account that is no superuser, and the database that it owns.
set -eu
# Through the environment: command lines can be read by other accounts, and the quoting is psql's.
psql --no-psqlrc --set=ON_ERROR_STOP=1 --username postgres --dbname postgres <<'SQL'
\getenv password SCHOOL_PASSWORD
CREATE ROLE school LOGIN NOSUPERUSER NOCREATEDB NOCREATEROLE PASSWORD :'password';
CREATE DATABASE school OWNER school;
\connect school
CREATE EXTENSION IF NOT EXISTS btree_gist;
SQL
