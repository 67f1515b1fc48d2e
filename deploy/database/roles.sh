#!/bin/sh
# Makes the two roles of the service and its database, once, on a new server (the PostgreSQL image runs it at its first start):
# one owns the schema and migrates, the service works as the other.
set -eu
psql --no-psqlrc --quiet --set=ON_ERROR_STOP=1 --username "${POSTGRES_USER:-postgres}" --dbname postgres \
  --set=owner_password="$SCHOOL_OWNER_PASSWORD" --set=service_password="$SCHOOL_SERVICE_PASSWORD" <<'SQL'
CREATE ROLE school LOGIN PASSWORD :'owner_password';
CREATE ROLE school_service LOGIN PASSWORD :'service_password';
GRANT school_service TO school;
CREATE DATABASE school OWNER school;
SQL
