using System;
using System.Collections.Generic;
using System.IO;
using Microsoft.EntityFrameworkCore.Migrations;
using NodaTime;
using Npgsql.EntityFrameworkCore.PostgreSQL.Metadata;

#nullable disable

namespace School.Web.Platform.Database.Migrations
{
    /// <inheritdoc />
    internal partial class Initial : Migration
    {
        /// <inheritdoc />
        protected override void Up(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.EnsureSchema(
                name: "people");

            migrationBuilder.EnsureSchema(
                name: "platform");

            migrationBuilder.EnsureSchema(
                name: "records");

            migrationBuilder.EnsureSchema(
                name: "cars");

            migrationBuilder.EnsureSchema(
                name: "calendars");

            migrationBuilder.EnsureSchema(
                name: "diary");

            migrationBuilder.EnsureSchema(
                name: "messages");

            migrationBuilder.EnsureSchema(
                name: "pupils");

            migrationBuilder.EnsureSchema(
                name: "travel");

            migrationBuilder.EnsureSchema(
                name: "syllabus");

            migrationBuilder.AlterDatabase()
                .Annotation("Npgsql:PostgresExtension:btree_gist", ",,");

            migrationBuilder.CreateTable(
                name: "api_tokens",
                schema: "people",
                columns: table => new
                {
                    id = table.Column<Guid>(type: "uuid", nullable: false),
                    person_id = table.Column<Guid>(type: "uuid", nullable: false),
                    hash = table.Column<byte[]>(type: "bytea", nullable: false),
                    created_at = table.Column<Instant>(type: "timestamp with time zone", nullable: false),
                    expires_at = table.Column<Instant>(type: "timestamp with time zone", nullable: false),
                    last_used_at = table.Column<Instant>(type: "timestamp with time zone", nullable: true),
                    revoked_at = table.Column<Instant>(type: "timestamp with time zone", nullable: true),
                    security_stamp = table.Column<string>(type: "text", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("pk_api_tokens", x => x.id);
                });

            migrationBuilder.CreateTable(
                name: "attempt_counts",
                schema: "platform",
                columns: table => new
                {
                    key = table.Column<string>(type: "text", nullable: false),
                    window_start = table.Column<Instant>(type: "timestamp with time zone", nullable: false),
                    count = table.Column<int>(type: "integer", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("pk_attempt_counts", x => new { x.key, x.window_start });
                });

            migrationBuilder.CreateTable(
                name: "audit",
                schema: "records",
                columns: table => new
                {
                    id = table.Column<Guid>(type: "uuid", nullable: false),
                    at = table.Column<Instant>(type: "timestamp with time zone", nullable: false),
                    by_person_id = table.Column<Guid>(type: "uuid", nullable: false),
                    by_name = table.Column<string>(type: "text", nullable: false),
                    what = table.Column<string>(type: "text", nullable: false),
                    about_id = table.Column<Guid>(type: "uuid", nullable: true),
                    words = table.Column<string>(type: "text", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("pk_audit", x => x.id);
                });

            migrationBuilder.CreateTable(
                name: "cars",
                schema: "cars",
                columns: table => new
                {
                    id = table.Column<Guid>(type: "uuid", nullable: false),
                    label = table.Column<string>(type: "text", nullable: false),
                    plate = table.Column<string>(type: "text", nullable: false),
                    gearbox = table.Column<string>(type: "text", nullable: false),
                    dual_controls = table.Column<bool>(type: "boolean", nullable: false),
                    first_registered = table.Column<LocalDate>(type: "date", nullable: false),
                    mot_expires = table.Column<LocalDate>(type: "date", nullable: true),
                    tax_expires = table.Column<LocalDate>(type: "date", nullable: true),
                    insurance_expires = table.Column<LocalDate>(type: "date", nullable: true),
                    service_due = table.Column<LocalDate>(type: "date", nullable: true),
                    retired_on = table.Column<LocalDate>(type: "date", nullable: true),
                    version = table.Column<int>(type: "integer", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("pk_cars", x => x.id);
                });

            migrationBuilder.CreateTable(
                name: "data_protection_keys",
                schema: "platform",
                columns: table => new
                {
                    id = table.Column<int>(type: "integer", nullable: false)
                        .Annotation("Npgsql:ValueGenerationStrategy", NpgsqlValueGenerationStrategy.IdentityByDefaultColumn),
                    friendly_name = table.Column<string>(type: "text", nullable: true),
                    xml = table.Column<string>(type: "text", nullable: true)
                },
                constraints: table =>
                {
                    table.PrimaryKey("pk_data_protection_keys", x => x.id);
                });

            migrationBuilder.CreateTable(
                name: "feeds",
                schema: "calendars",
                columns: table => new
                {
                    id = table.Column<Guid>(type: "uuid", nullable: false),
                    secret_hash = table.Column<byte[]>(type: "bytea", nullable: false),
                    owner_person_id = table.Column<Guid>(type: "uuid", nullable: false),
                    instructor_id = table.Column<Guid>(type: "uuid", nullable: true),
                    pupil_id = table.Column<Guid>(type: "uuid", nullable: true),
                    car_id = table.Column<Guid>(type: "uuid", nullable: true),
                    detail = table.Column<string>(type: "text", nullable: false),
                    hide_cancelled = table.Column<bool>(type: "boolean", nullable: false),
                    created_at = table.Column<Instant>(type: "timestamp with time zone", nullable: false),
                    last_read_at = table.Column<Instant>(type: "timestamp with time zone", nullable: true),
                    revoked_at = table.Column<Instant>(type: "timestamp with time zone", nullable: true),
                    content_hash = table.Column<byte[]>(type: "bytea", nullable: true),
                    content_changed_at = table.Column<Instant>(type: "timestamp with time zone", nullable: true)
                },
                constraints: table =>
                {
                    table.PrimaryKey("pk_feeds", x => x.id);
                    table.CheckConstraint("feeds_one_subject", "num_nonnulls(instructor_id, pupil_id, car_id) = 1");
                });

            migrationBuilder.CreateTable(
                name: "holidays",
                schema: "diary",
                columns: table => new
                {
                    nation = table.Column<string>(type: "text", nullable: false),
                    date = table.Column<LocalDate>(type: "date", nullable: false),
                    name = table.Column<string>(type: "text", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("holidays_once", x => new { x.nation, x.date });
                });

            migrationBuilder.CreateTable(
                name: "idempotent_answers",
                schema: "platform",
                columns: table => new
                {
                    person_id = table.Column<Guid>(type: "uuid", nullable: false),
                    key = table.Column<string>(type: "text", nullable: false),
                    request_hash = table.Column<string>(type: "text", nullable: false),
                    status = table.Column<int>(type: "integer", nullable: false),
                    content_type = table.Column<string>(type: "text", nullable: true),
                    location = table.Column<string>(type: "text", nullable: true),
                    e_tag = table.Column<string>(type: "text", nullable: true),
                    body = table.Column<byte[]>(type: "bytea", nullable: false),
                    at = table.Column<Instant>(type: "timestamp with time zone", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("pk_idempotent_answers", x => new { x.person_id, x.key });
                });

            migrationBuilder.CreateTable(
                name: "instructors",
                schema: "people",
                columns: table => new
                {
                    id = table.Column<Guid>(type: "uuid", nullable: false),
                    name = table.Column<string>(type: "text", nullable: false),
                    email = table.Column<string>(type: "text", nullable: false),
                    phone = table.Column<string>(type: "text", nullable: false),
                    teaches = table.Column<string[]>(type: "text[]", nullable: false),
                    registration = table.Column<string>(type: "text", nullable: false),
                    registration_number = table.Column<string>(type: "text", nullable: false),
                    registered_from = table.Column<LocalDate>(type: "date", nullable: true),
                    registered_to = table.Column<LocalDate>(type: "date", nullable: false),
                    daily_teaching_minutes = table.Column<int>(type: "integer", nullable: true),
                    retired_on = table.Column<LocalDate>(type: "date", nullable: true),
                    base_address = table.Column<string>(type: "text", nullable: false),
                    base_label = table.Column<string>(type: "text", nullable: false),
                    base_latitude = table.Column<double>(type: "double precision", nullable: false),
                    base_longitude = table.Column<double>(type: "double precision", nullable: false),
                    base_postcode = table.Column<string>(type: "text", nullable: false),
                    version = table.Column<int>(type: "integer", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("pk_instructors", x => x.id);
                });

            migrationBuilder.CreateTable(
                name: "lesson_changes",
                schema: "diary",
                columns: table => new
                {
                    id = table.Column<Guid>(type: "uuid", nullable: false),
                    lesson_id = table.Column<Guid>(type: "uuid", nullable: false),
                    kind = table.Column<string>(type: "text", nullable: false),
                    at = table.Column<Instant>(type: "timestamp with time zone", nullable: false),
                    by_person_id = table.Column<Guid>(type: "uuid", nullable: false),
                    by_name = table.Column<string>(type: "text", nullable: false),
                    words = table.Column<string>(type: "text", nullable: false),
                    starts_at = table.Column<Instant>(type: "timestamp with time zone", nullable: true),
                    instructor_id = table.Column<Guid>(type: "uuid", nullable: true)
                },
                constraints: table =>
                {
                    table.PrimaryKey("pk_lesson_changes", x => x.id);
                });

            migrationBuilder.CreateTable(
                name: "lessons",
                schema: "diary",
                columns: table => new
                {
                    id = table.Column<Guid>(type: "uuid", nullable: false),
                    pupil_id = table.Column<Guid>(type: "uuid", nullable: false),
                    instructor_id = table.Column<Guid>(type: "uuid", nullable: false),
                    car_id = table.Column<Guid>(type: "uuid", nullable: false),
                    starts_at = table.Column<Instant>(type: "timestamp with time zone", nullable: false),
                    ends_at = table.Column<Instant>(type: "timestamp with time zone", nullable: false),
                    state = table.Column<string>(type: "text", nullable: false),
                    booked_at = table.Column<Instant>(type: "timestamp with time zone", nullable: false),
                    changed_at = table.Column<Instant>(type: "timestamp with time zone", nullable: false),
                    sequence = table.Column<int>(type: "integer", nullable: false),
                    cancelled_because = table.Column<string>(type: "text", nullable: true),
                    chargeable = table.Column<bool>(type: "boolean", nullable: true),
                    charge_policy = table.Column<string>(type: "text", nullable: true),
                    minutes_taught = table.Column<int>(type: "integer", nullable: true),
                    note = table.Column<string>(type: "text", nullable: false),
                    drop_off_address = table.Column<string>(type: "text", nullable: false),
                    drop_off_label = table.Column<string>(type: "text", nullable: false),
                    drop_off_latitude = table.Column<double>(type: "double precision", nullable: false),
                    drop_off_longitude = table.Column<double>(type: "double precision", nullable: false),
                    drop_off_postcode = table.Column<string>(type: "text", nullable: false),
                    pick_up_address = table.Column<string>(type: "text", nullable: false),
                    pick_up_label = table.Column<string>(type: "text", nullable: false),
                    pick_up_latitude = table.Column<double>(type: "double precision", nullable: false),
                    pick_up_longitude = table.Column<double>(type: "double precision", nullable: false),
                    pick_up_postcode = table.Column<string>(type: "text", nullable: false),
                    version = table.Column<int>(type: "integer", nullable: false),
                    series_id = table.Column<Guid>(type: "uuid", nullable: true)
                },
                constraints: table =>
                {
                    table.PrimaryKey("pk_lessons", x => x.id);
                    table.CheckConstraint("lessons_end_after_start", "ends_at > starts_at");
                });

            migrationBuilder.CreateTable(
                name: "messages",
                schema: "messages",
                columns: table => new
                {
                    id = table.Column<Guid>(type: "uuid", nullable: false),
                    key = table.Column<string>(type: "text", nullable: false),
                    about_id = table.Column<Guid>(type: "uuid", nullable: false),
                    kind = table.Column<string>(type: "text", nullable: false),
                    to_person_id = table.Column<Guid>(type: "uuid", nullable: true),
                    to_name = table.Column<string>(type: "text", nullable: false),
                    to_address = table.Column<string>(type: "text", nullable: false),
                    subject = table.Column<string>(type: "text", nullable: false),
                    text = table.Column<string>(type: "text", nullable: false),
                    html = table.Column<string>(type: "text", nullable: false),
                    written_at = table.Column<Instant>(type: "timestamp with time zone", nullable: false),
                    due_at = table.Column<Instant>(type: "timestamp with time zone", nullable: false),
                    useless_at = table.Column<Instant>(type: "timestamp with time zone", nullable: true),
                    state = table.Column<string>(type: "text", nullable: false),
                    closed_at = table.Column<Instant>(type: "timestamp with time zone", nullable: true),
                    tries = table.Column<int>(type: "integer", nullable: false),
                    last_problem = table.Column<string>(type: "text", nullable: false),
                    claimed_until = table.Column<Instant>(type: "timestamp with time zone", nullable: true)
                },
                constraints: table =>
                {
                    table.PrimaryKey("pk_messages", x => x.id);
                });

            migrationBuilder.CreateTable(
                name: "people",
                schema: "people",
                columns: table => new
                {
                    id = table.Column<Guid>(type: "uuid", nullable: false),
                    name = table.Column<string>(type: "text", nullable: false),
                    role = table.Column<string>(type: "text", nullable: false),
                    instructor_id = table.Column<Guid>(type: "uuid", nullable: true),
                    pupil_id = table.Column<Guid>(type: "uuid", nullable: true),
                    closed = table.Column<bool>(type: "boolean", nullable: false),
                    last_sign_in = table.Column<Instant>(type: "timestamp with time zone", nullable: true),
                    user_name = table.Column<string>(type: "text", nullable: true),
                    normalized_user_name = table.Column<string>(type: "text", nullable: true),
                    email = table.Column<string>(type: "text", nullable: true),
                    normalized_email = table.Column<string>(type: "text", nullable: true),
                    email_confirmed = table.Column<bool>(type: "boolean", nullable: false),
                    password_hash = table.Column<string>(type: "text", nullable: true),
                    security_stamp = table.Column<string>(type: "text", nullable: true),
                    concurrency_stamp = table.Column<string>(type: "text", nullable: true),
                    phone_number = table.Column<string>(type: "text", nullable: true),
                    phone_number_confirmed = table.Column<bool>(type: "boolean", nullable: false),
                    two_factor_enabled = table.Column<bool>(type: "boolean", nullable: false),
                    lockout_end = table.Column<DateTimeOffset>(type: "timestamp with time zone", nullable: true),
                    lockout_enabled = table.Column<bool>(type: "boolean", nullable: false),
                    access_failed_count = table.Column<int>(type: "integer", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("pk_people", x => x.id);
                });

            migrationBuilder.CreateTable(
                name: "person_claims",
                schema: "people",
                columns: table => new
                {
                    id = table.Column<int>(type: "integer", nullable: false)
                        .Annotation("Npgsql:ValueGenerationStrategy", NpgsqlValueGenerationStrategy.IdentityByDefaultColumn),
                    user_id = table.Column<Guid>(type: "uuid", nullable: false),
                    claim_type = table.Column<string>(type: "text", nullable: true),
                    claim_value = table.Column<string>(type: "text", nullable: true)
                },
                constraints: table =>
                {
                    table.PrimaryKey("pk_person_claims", x => x.id);
                });

            migrationBuilder.CreateTable(
                name: "person_logins",
                schema: "people",
                columns: table => new
                {
                    login_provider = table.Column<string>(type: "text", nullable: false),
                    provider_key = table.Column<string>(type: "text", nullable: false),
                    provider_display_name = table.Column<string>(type: "text", nullable: true),
                    user_id = table.Column<Guid>(type: "uuid", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("pk_person_logins", x => new { x.login_provider, x.provider_key });
                });

            migrationBuilder.CreateTable(
                name: "person_passkeys",
                schema: "people",
                columns: table => new
                {
                    credential_id = table.Column<byte[]>(type: "bytea", nullable: false),
                    user_id = table.Column<Guid>(type: "uuid", nullable: false),
                    data = table.Column<string>(type: "jsonb", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("pk_person_passkeys", x => x.credential_id);
                });

            migrationBuilder.CreateTable(
                name: "person_tokens",
                schema: "people",
                columns: table => new
                {
                    user_id = table.Column<Guid>(type: "uuid", nullable: false),
                    login_provider = table.Column<string>(type: "text", nullable: false),
                    name = table.Column<string>(type: "text", nullable: false),
                    value = table.Column<string>(type: "text", nullable: true)
                },
                constraints: table =>
                {
                    table.PrimaryKey("pk_person_tokens", x => new { x.user_id, x.login_provider, x.name });
                });

            migrationBuilder.CreateTable(
                name: "pupils",
                schema: "pupils",
                columns: table => new
                {
                    id = table.Column<Guid>(type: "uuid", nullable: false),
                    name = table.Column<string>(type: "text", nullable: false),
                    email = table.Column<string>(type: "text", nullable: false),
                    phone = table.Column<string>(type: "text", nullable: false),
                    birth_date = table.Column<LocalDate>(type: "date", nullable: false),
                    mobility_award = table.Column<bool>(type: "boolean", nullable: false),
                    gearbox = table.Column<string>(type: "text", nullable: false),
                    provisional_from = table.Column<LocalDate>(type: "date", nullable: true),
                    driver_number_sealed = table.Column<string>(type: "text", nullable: true),
                    eyesight_checked_on = table.Column<LocalDate>(type: "date", nullable: true),
                    eyesight_checked_by = table.Column<Guid>(type: "uuid", nullable: true),
                    usual_instructor_id = table.Column<Guid>(type: "uuid", nullable: true),
                    weekly_minutes = table.Column<int>(type: "integer", nullable: true),
                    lesson_minutes = table.Column<int>(type: "integer", nullable: false),
                    needs_dual_controls = table.Column<bool>(type: "boolean", nullable: false),
                    emergency_name = table.Column<string>(type: "text", nullable: false),
                    emergency_phone = table.Column<string>(type: "text", nullable: false),
                    need = table.Column<string>(type: "text", nullable: false),
                    notes = table.Column<string>(type: "text", nullable: false),
                    health_notes_sealed = table.Column<string>(type: "text", nullable: true),
                    retired_on = table.Column<LocalDate>(type: "date", nullable: true),
                    pick_up_address = table.Column<string>(type: "text", nullable: false),
                    pick_up_label = table.Column<string>(type: "text", nullable: false),
                    pick_up_latitude = table.Column<double>(type: "double precision", nullable: false),
                    pick_up_longitude = table.Column<double>(type: "double precision", nullable: false),
                    pick_up_postcode = table.Column<string>(type: "text", nullable: false),
                    version = table.Column<int>(type: "integer", nullable: false),
                    licence_checked_by = table.Column<Guid>(type: "uuid", nullable: true),
                    licence_checked_on = table.Column<LocalDate>(type: "date", nullable: true),
                    theory_certificate_sealed = table.Column<string>(type: "text", nullable: true),
                    theory_passed_on = table.Column<LocalDate>(type: "date", nullable: true)
                },
                constraints: table =>
                {
                    table.PrimaryKey("pk_pupils", x => x.id);
                });

            migrationBuilder.CreateTable(
                name: "school",
                schema: "people",
                columns: table => new
                {
                    id = table.Column<Guid>(type: "uuid", nullable: false),
                    name = table.Column<string>(type: "text", nullable: false),
                    phone = table.Column<string>(type: "text", nullable: false),
                    email = table.Column<string>(type: "text", nullable: false),
                    zone = table.Column<string>(type: "text", nullable: false),
                    twelve_hour_clock = table.Column<bool>(type: "boolean", nullable: false),
                    nation = table.Column<string>(type: "text", nullable: false),
                    terms = table.Column<string>(type: "text", nullable: false),
                    version = table.Column<int>(type: "integer", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("pk_school", x => x.id);
                });

            migrationBuilder.CreateTable(
                name: "settings",
                schema: "diary",
                columns: table => new
                {
                    id = table.Column<Guid>(type: "uuid", nullable: false),
                    grid_minutes = table.Column<int>(type: "integer", nullable: false),
                    lesson_minutes = table.Column<List<int>>(type: "integer[]", nullable: false),
                    buffer_minutes = table.Column<int>(type: "integer", nullable: false),
                    notice_to_book_hours = table.Column<int>(type: "integer", nullable: false),
                    notice_to_move_hours = table.Column<int>(type: "integer", nullable: false),
                    horizon_days = table.Column<int>(type: "integer", nullable: false),
                    rest_after_minutes = table.Column<int>(type: "integer", nullable: false),
                    rest_minutes = table.Column<int>(type: "integer", nullable: false),
                    daily_teaching_minutes = table.Column<int>(type: "integer", nullable: false),
                    trainee_daily_teaching_minutes = table.Column<int>(type: "integer", nullable: true),
                    first_leg_is_work = table.Column<bool>(type: "boolean", nullable: false),
                    last_leg_is_work = table.Column<bool>(type: "boolean", nullable: false),
                    minimum_age = table.Column<int>(type: "integer", nullable: false),
                    minimum_age_with_mobility_award = table.Column<int>(type: "integer", nullable: false),
                    version = table.Column<int>(type: "integer", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("pk_settings", x => x.id);
                });

            migrationBuilder.CreateTable(
                name: "settings",
                schema: "travel",
                columns: table => new
                {
                    id = table.Column<Guid>(type: "uuid", nullable: false),
                    detour_factor = table.Column<double>(type: "double precision", nullable: false),
                    weekday_mph = table.Column<List<double>>(type: "double precision[]", nullable: false),
                    saturday_mph = table.Column<List<double>>(type: "double precision[]", nullable: false),
                    sunday_mph = table.Column<List<double>>(type: "double precision[]", nullable: false),
                    version = table.Column<int>(type: "integer", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("pk_settings1", x => x.id);
                });

            migrationBuilder.CreateTable(
                name: "time_off",
                schema: "diary",
                columns: table => new
                {
                    id = table.Column<Guid>(type: "uuid", nullable: false),
                    instructor_id = table.Column<Guid>(type: "uuid", nullable: false),
                    starts_at = table.Column<Instant>(type: "timestamp with time zone", nullable: false),
                    ends_at = table.Column<Instant>(type: "timestamp with time zone", nullable: false),
                    reason = table.Column<string>(type: "text", nullable: false),
                    version = table.Column<int>(type: "integer", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("pk_time_off", x => x.id);
                    table.CheckConstraint("time_off_end_after_start", "ends_at > starts_at");
                });

            migrationBuilder.CreateTable(
                name: "working_hours",
                schema: "diary",
                columns: table => new
                {
                    id = table.Column<Guid>(type: "uuid", nullable: false),
                    instructor_id = table.Column<Guid>(type: "uuid", nullable: false),
                    day = table.Column<string>(type: "text", nullable: false),
                    start = table.Column<LocalTime>(type: "time", nullable: false),
                    end = table.Column<LocalTime>(type: "time", nullable: false),
                    from = table.Column<LocalDate>(type: "date", nullable: false),
                    to = table.Column<LocalDate>(type: "date", nullable: true),
                    version = table.Column<int>(type: "integer", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("pk_working_hours", x => x.id);
                    table.CheckConstraint("working_hours_dates", "\"to\" IS NULL OR \"to\" >= \"from\"");
                    table.CheckConstraint("working_hours_end_after_start", "\"end\" > start");
                });

            migrationBuilder.CreateTable(
                name: "holdings",
                schema: "cars",
                columns: table => new
                {
                    id = table.Column<Guid>(type: "uuid", nullable: false),
                    car_id = table.Column<Guid>(type: "uuid", nullable: false),
                    instructor_id = table.Column<Guid>(type: "uuid", nullable: false),
                    from = table.Column<LocalDate>(type: "date", nullable: false),
                    to = table.Column<LocalDate>(type: "date", nullable: true),
                    standing = table.Column<bool>(type: "boolean", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("pk_holdings", x => x.id);
                    table.CheckConstraint("holdings_end_after_start", "\"to\" IS NULL OR \"to\" >= \"from\"");
                    table.ForeignKey(
                        name: "fk_holdings_cars_car_id",
                        column: x => x.car_id,
                        principalSchema: "cars",
                        principalTable: "cars",
                        principalColumn: "id",
                        onDelete: ReferentialAction.Cascade);
                });

            migrationBuilder.CreateTable(
                name: "off_road",
                schema: "cars",
                columns: table => new
                {
                    id = table.Column<Guid>(type: "uuid", nullable: false),
                    car_id = table.Column<Guid>(type: "uuid", nullable: false),
                    starts_at = table.Column<Instant>(type: "timestamp with time zone", nullable: false),
                    ends_at = table.Column<Instant>(type: "timestamp with time zone", nullable: true),
                    reason = table.Column<string>(type: "text", nullable: false),
                    version = table.Column<int>(type: "integer", nullable: false, defaultValue: 1)
                },
                constraints: table =>
                {
                    table.PrimaryKey("pk_off_road", x => x.id);
                    table.CheckConstraint("off_road_end_after_start", "ends_at IS NULL OR ends_at > starts_at");
                    table.ForeignKey(
                        name: "fk_off_road_cars_car_id",
                        column: x => x.car_id,
                        principalSchema: "cars",
                        principalTable: "cars",
                        principalColumn: "id",
                        onDelete: ReferentialAction.Cascade);
                });

            migrationBuilder.CreateTable(
                name: "freed_slots",
                schema: "diary",
                columns: table => new
                {
                    id = table.Column<Guid>(type: "uuid", nullable: false),
                    instructor_id = table.Column<Guid>(type: "uuid", nullable: false),
                    starts_at = table.Column<Instant>(type: "timestamp with time zone", nullable: false),
                    ends_at = table.Column<Instant>(type: "timestamp with time zone", nullable: false),
                    freed_at = table.Column<Instant>(type: "timestamp with time zone", nullable: false),
                    freed_by_pupil_id = table.Column<Guid>(type: "uuid", nullable: false),
                    state = table.Column<string>(type: "text", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("pk_freed_slots", x => x.id);
                    table.CheckConstraint("freed_slots_end_after_start", "ends_at > starts_at");
                });

            migrationBuilder.CreateTable(
                name: "waiting",
                schema: "diary",
                columns: table => new
                {
                    id = table.Column<Guid>(type: "uuid", nullable: false),
                    pupil_id = table.Column<Guid>(type: "uuid", nullable: false),
                    @for = table.Column<string>(name: "for", type: "text", nullable: false),
                    instructor_id = table.Column<Guid>(type: "uuid", nullable: true),
                    from = table.Column<LocalDate>(type: "date", nullable: true),
                    to = table.Column<LocalDate>(type: "date", nullable: true),
                    since = table.Column<Instant>(type: "timestamp with time zone", nullable: false),
                    state = table.Column<string>(type: "text", nullable: false),
                    closed_at = table.Column<Instant>(type: "timestamp with time zone", nullable: true),
                    version = table.Column<int>(type: "integer", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("pk_waiting", x => x.id);
                    table.CheckConstraint("waiting_days", "(\"for\" = 'AnyLesson') = (\"from\" IS NOT NULL) AND \"from\" <= \"to\"");
                });

            migrationBuilder.CreateTable(
                name: "waiting_settings",
                schema: "diary",
                columns: table => new
                {
                    id = table.Column<Guid>(type: "uuid", nullable: false),
                    held_minutes = table.Column<int>(type: "integer", nullable: false),
                    at_once = table.Column<int>(type: "integer", nullable: false),
                    lead_minutes = table.Column<int>(type: "integer", nullable: false),
                    lately_days = table.Column<int>(type: "integer", nullable: false),
                    order = table.Column<string>(type: "text", nullable: false),
                    version = table.Column<int>(type: "integer", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("pk_waiting_settings", x => x.id);
                });

            migrationBuilder.CreateTable(
                name: "offers",
                schema: "diary",
                columns: table => new
                {
                    id = table.Column<Guid>(type: "uuid", nullable: false),
                    freed_id = table.Column<Guid>(type: "uuid", nullable: false),
                    waiting_id = table.Column<Guid>(type: "uuid", nullable: false),
                    pupil_id = table.Column<Guid>(type: "uuid", nullable: false),
                    instructor_id = table.Column<Guid>(type: "uuid", nullable: false),
                    starts_at = table.Column<Instant>(type: "timestamp with time zone", nullable: false),
                    minutes = table.Column<int>(type: "integer", nullable: false),
                    instead_of_id = table.Column<Guid>(type: "uuid", nullable: true),
                    offered_at = table.Column<Instant>(type: "timestamp with time zone", nullable: false),
                    held_until = table.Column<Instant>(type: "timestamp with time zone", nullable: false),
                    state = table.Column<string>(type: "text", nullable: false),
                    answered_at = table.Column<Instant>(type: "timestamp with time zone", nullable: true),
                    lesson_id = table.Column<Guid>(type: "uuid", nullable: true),
                    secret_hash = table.Column<byte[]>(type: "bytea", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("pk_offers", x => x.id);
                    table.ForeignKey(
                        name: "fk_offers_freed_slots_freed_id",
                        column: x => x.freed_id,
                        principalSchema: "diary",
                        principalTable: "freed_slots",
                        principalColumn: "id",
                        onDelete: ReferentialAction.Cascade);
                    table.ForeignKey(
                        name: "fk_offers_waiting_entry_waiting_id",
                        column: x => x.waiting_id,
                        principalSchema: "diary",
                        principalTable: "waiting",
                        principalColumn: "id",
                        onDelete: ReferentialAction.Cascade);
                });

            migrationBuilder.CreateTable(
                name: "test_day_changes",
                schema: "diary",
                columns: table => new
                {
                    id = table.Column<Guid>(type: "uuid", nullable: false),
                    test_day_id = table.Column<Guid>(type: "uuid", nullable: false),
                    at = table.Column<Instant>(type: "timestamp with time zone", nullable: false),
                    by_person_id = table.Column<Guid>(type: "uuid", nullable: false),
                    by_name = table.Column<string>(type: "text", nullable: false),
                    words = table.Column<string>(type: "text", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("pk_test_day_changes", x => x.id);
                });

            migrationBuilder.CreateTable(
                name: "test_day_settings",
                schema: "diary",
                columns: table => new
                {
                    id = table.Column<Guid>(type: "uuid", nullable: false),
                    lead_minutes = table.Column<int>(type: "integer", nullable: false),
                    test_minutes = table.Column<int>(type: "integer", nullable: false),
                    tail_minutes = table.Column<int>(type: "integer", nullable: false),
                    notice_days = table.Column<int>(type: "integer", nullable: false),
                    retest_days = table.Column<int>(type: "integer", nullable: false),
                    version = table.Column<int>(type: "integer", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("pk_test_day_settings", x => x.id);
                });

            migrationBuilder.CreateTable(
                name: "test_days",
                schema: "diary",
                columns: table => new
                {
                    id = table.Column<Guid>(type: "uuid", nullable: false),
                    pupil_id = table.Column<Guid>(type: "uuid", nullable: false),
                    instructor_id = table.Column<Guid>(type: "uuid", nullable: true),
                    car_id = table.Column<Guid>(type: "uuid", nullable: true),
                    own_car = table.Column<bool>(type: "boolean", nullable: false),
                    starts_at = table.Column<Instant>(type: "timestamp with time zone", nullable: false),
                    ends_at = table.Column<Instant>(type: "timestamp with time zone", nullable: false),
                    blocked_from = table.Column<Instant>(type: "timestamp with time zone", nullable: false),
                    blocked_until = table.Column<Instant>(type: "timestamp with time zone", nullable: false),
                    nation = table.Column<string>(type: "text", nullable: false),
                    ends_at_pick_up = table.Column<bool>(type: "boolean", nullable: false),
                    reference = table.Column<string>(type: "text", nullable: false),
                    gearbox = table.Column<string>(type: "text", nullable: false),
                    insured_seen_on = table.Column<LocalDate>(type: "date", nullable: true),
                    state = table.Column<string>(type: "text", nullable: false),
                    driving = table.Column<int>(type: "integer", nullable: false),
                    serious = table.Column<int>(type: "integer", nullable: false),
                    dangerous = table.Column<int>(type: "integer", nullable: false),
                    eta_verbal = table.Column<int>(type: "integer", nullable: false),
                    eta_physical = table.Column<int>(type: "integer", nullable: false),
                    note = table.Column<string>(type: "text", nullable: false),
                    entered_at = table.Column<Instant>(type: "timestamp with time zone", nullable: false),
                    changed_at = table.Column<Instant>(type: "timestamp with time zone", nullable: false),
                    sequence = table.Column<int>(type: "integer", nullable: false),
                    centre_address = table.Column<string>(type: "text", nullable: false),
                    centre_label = table.Column<string>(type: "text", nullable: false),
                    centre_latitude = table.Column<double>(type: "double precision", nullable: false),
                    centre_longitude = table.Column<double>(type: "double precision", nullable: false),
                    centre_postcode = table.Column<string>(type: "text", nullable: false),
                    pick_up_address = table.Column<string>(type: "text", nullable: false),
                    pick_up_label = table.Column<string>(type: "text", nullable: false),
                    pick_up_latitude = table.Column<double>(type: "double precision", nullable: false),
                    pick_up_longitude = table.Column<double>(type: "double precision", nullable: false),
                    pick_up_postcode = table.Column<string>(type: "text", nullable: false),
                    version = table.Column<int>(type: "integer", nullable: false),
                    marks = table.Column<string>(type: "jsonb", nullable: true)
                },
                constraints: table =>
                {
                    table.PrimaryKey("pk_test_days", x => x.id);
                    table.CheckConstraint("test_days_times", "blocked_from <= starts_at AND starts_at < ends_at AND ends_at <= blocked_until");
                });

            migrationBuilder.CreateTable(
                name: "availability",
                schema: "pupils",
                columns: table => new
                {
                    id = table.Column<Guid>(type: "uuid", nullable: false),
                    pupil_id = table.Column<Guid>(type: "uuid", nullable: false),
                    day = table.Column<string>(type: "text", nullable: false),
                    from = table.Column<LocalTime>(type: "time", nullable: false),
                    to = table.Column<LocalTime>(type: "time", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("pk_availability", x => x.id);
                    table.CheckConstraint("availability_end_after_start", "\"to\" > \"from\"");
                    table.ForeignKey(
                        name: "fk_availability_pupils_pupil_id",
                        column: x => x.pupil_id,
                        principalSchema: "pupils",
                        principalTable: "pupils",
                        principalColumn: "id",
                        onDelete: ReferentialAction.Cascade);
                });

            migrationBuilder.CreateTable(
                name: "late_notes",
                schema: "diary",
                columns: table => new
                {
                    lesson_id = table.Column<Guid>(type: "uuid", nullable: false),
                    starts_at = table.Column<Instant>(type: "timestamp with time zone", nullable: false),
                    minutes = table.Column<int>(type: "integer", nullable: false),
                    told_at = table.Column<Instant>(type: "timestamp with time zone", nullable: false),
                    times = table.Column<int>(type: "integer", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("pk_late_notes", x => x.lesson_id);
                    table.CheckConstraint("late_notes_minutes", "minutes >= 0");
                    table.ForeignKey(
                        name: "fk_late_notes_lesson_lesson_id",
                        column: x => x.lesson_id,
                        principalSchema: "diary",
                        principalTable: "lessons",
                        principalColumn: "id",
                        onDelete: ReferentialAction.Cascade);
                });

            migrationBuilder.CreateTable(
                name: "covers",
                schema: "diary",
                columns: table => new
                {
                    id = table.Column<Guid>(type: "uuid", nullable: false),
                    instructor_id = table.Column<Guid>(type: "uuid", nullable: true),
                    car_id = table.Column<Guid>(type: "uuid", nullable: true),
                    starts_at = table.Column<Instant>(type: "timestamp with time zone", nullable: false),
                    ends_at = table.Column<Instant>(type: "timestamp with time zone", nullable: false),
                    reason = table.Column<string>(type: "text", nullable: false),
                    may_move_minutes = table.Column<int>(type: "integer", nullable: false),
                    asked_at = table.Column<Instant>(type: "timestamp with time zone", nullable: false),
                    state = table.Column<string>(type: "text", nullable: false),
                    done = table.Column<int>(type: "integer", nullable: false),
                    of = table.Column<int>(type: "integer", nullable: false),
                    answer = table.Column<string>(type: "text", nullable: true),
                    seen = table.Column<string>(type: "text", nullable: false),
                    version = table.Column<int>(type: "integer", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("pk_covers", x => x.id);
                    table.CheckConstraint("covers_end_after_start", "ends_at > starts_at");
                    table.CheckConstraint("covers_for_one", "(instructor_id IS NULL) <> (car_id IS NULL)");
                });

            migrationBuilder.CreateTable(
                name: "drives",
                schema: "travel",
                columns: table => new
                {
                    from_cell = table.Column<long>(type: "bigint", nullable: false),
                    to_cell = table.Column<long>(type: "bigint", nullable: false),
                    seconds = table.Column<double>(type: "double precision", nullable: true),
                    metres = table.Column<double>(type: "double precision", nullable: true),
                    asked_at = table.Column<Instant>(type: "timestamp with time zone", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("pk_drives", x => new { x.from_cell, x.to_cell });
                });

            migrationBuilder.CreateTable(
                name: "legs",
                schema: "travel",
                columns: table => new
                {
                    id = table.Column<Guid>(type: "uuid", nullable: false),
                    instructor_id = table.Column<Guid>(type: "uuid", nullable: false),
                    from_label = table.Column<string>(type: "text", nullable: false),
                    from_latitude = table.Column<double>(type: "double precision", nullable: false),
                    from_longitude = table.Column<double>(type: "double precision", nullable: false),
                    to_label = table.Column<string>(type: "text", nullable: false),
                    to_latitude = table.Column<double>(type: "double precision", nullable: false),
                    to_longitude = table.Column<double>(type: "double precision", nullable: false),
                    left_at = table.Column<Instant>(type: "timestamp with time zone", nullable: false),
                    arrived_at = table.Column<Instant>(type: "timestamp with time zone", nullable: true),
                    version = table.Column<int>(type: "integer", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("pk_legs", x => x.id);
                    table.CheckConstraint("legs_arrived_after_left", "arrived_at > left_at");
                });

            migrationBuilder.CreateTable(
                name: "routing_health",
                schema: "travel",
                columns: table => new
                {
                    id = table.Column<int>(type: "integer", nullable: false),
                    failures = table.Column<int>(type: "integer", nullable: false),
                    failing_since = table.Column<Instant>(type: "timestamp with time zone", nullable: true),
                    reason = table.Column<string>(type: "text", nullable: false),
                    paused_until = table.Column<Instant>(type: "timestamp with time zone", nullable: true),
                    trial_from = table.Column<long>(type: "bigint", nullable: false),
                    trial_to = table.Column<long>(type: "bigint", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("pk_routing_health", x => x.id);
                });

            migrationBuilder.CreateTable(
                name: "day_versions",
                schema: "diary",
                columns: table => new
                {
                    subject = table.Column<Guid>(type: "uuid", nullable: false),
                    day = table.Column<LocalDate>(type: "date", nullable: false),
                    version = table.Column<long>(type: "bigint", nullable: false),
                },
                constraints: table => table.PrimaryKey("pk_day_versions", x => new { x.day, x.subject }));

            migrationBuilder.CreateTable(
                name: "editions",
                schema: "syllabus",
                columns: table => new
                {
                    number = table.Column<int>(type: "integer", nullable: false),
                    made_at = table.Column<Instant>(type: "timestamp with time zone", nullable: false),
                    made_by = table.Column<string>(type: "text", nullable: false),
                    words = table.Column<string>(type: "text", nullable: false),
                    content = table.Column<string>(type: "jsonb", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("pk_editions", x => x.number);
                });

            migrationBuilder.CreateTable(
                name: "lesson_record_changes",
                schema: "syllabus",
                columns: table => new
                {
                    id = table.Column<Guid>(type: "uuid", nullable: false),
                    lesson_id = table.Column<Guid>(type: "uuid", nullable: false),
                    at = table.Column<Instant>(type: "timestamp with time zone", nullable: false),
                    by_person_id = table.Column<Guid>(type: "uuid", nullable: false),
                    by_name = table.Column<string>(type: "text", nullable: false),
                    content = table.Column<string>(type: "jsonb", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("pk_lesson_record_changes", x => x.id);
                });

            migrationBuilder.CreateTable(
                name: "lesson_records",
                schema: "syllabus",
                columns: table => new
                {
                    lesson_id = table.Column<Guid>(type: "uuid", nullable: false),
                    pupil_id = table.Column<Guid>(type: "uuid", nullable: false),
                    edition = table.Column<int>(type: "integer", nullable: false),
                    aim = table.Column<string>(type: "text", nullable: false),
                    private_note = table.Column<string>(type: "text", nullable: false),
                    route = table.Column<string>(type: "text", nullable: true),
                    miles = table.Column<decimal>(type: "numeric(5,1)", precision: 5, scale: 1, nullable: true),
                    recorded_at = table.Column<Instant>(type: "timestamp with time zone", nullable: false),
                    recorded_by = table.Column<Guid>(type: "uuid", nullable: false),
                    reflection = table.Column<string>(type: "text", nullable: false),
                    reflected_at = table.Column<Instant>(type: "timestamp with time zone", nullable: true),
                    levels = table.Column<string>(type: "jsonb", nullable: true)
                },
                constraints: table =>
                {
                    table.PrimaryKey("pk_lesson_records", x => x.lesson_id);
                    table.CheckConstraint("lesson_records_miles", "miles BETWEEN 0 AND 300");
                });

            migrationBuilder.CreateTable(
                name: "settings",
                schema: "syllabus",
                columns: table => new
                {
                    id = table.Column<Guid>(type: "uuid", nullable: false),
                    stale_days = table.Column<int>(type: "integer", nullable: false),
                    practice_weight = table.Column<int>(type: "integer", nullable: false),
                    version = table.Column<int>(type: "integer", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("pk_syllabus_settings", x => x.id);
                    table.CheckConstraint("syllabus_practice_weight", "practice_weight BETWEEN 0 AND 100");
                    table.CheckConstraint("syllabus_stale_days", "stale_days BETWEEN 7 AND 365");
                });

            migrationBuilder.CreateTable(
                name: "private_practice",
                schema: "syllabus",
                columns: table => new
                {
                    id = table.Column<Guid>(type: "uuid", nullable: false),
                    pupil_id = table.Column<Guid>(type: "uuid", nullable: false),
                    on = table.Column<LocalDate>(type: "date", nullable: false),
                    minutes = table.Column<int>(type: "integer", nullable: false),
                    conditions = table.Column<string[]>(type: "text[]", nullable: false),
                    supervisor = table.Column<string>(type: "text", nullable: false),
                    skills = table.Column<List<string>>(type: "text[]", nullable: false),
                    edition = table.Column<int>(type: "integer", nullable: false),
                    logged_at = table.Column<Instant>(type: "timestamp with time zone", nullable: false),
                    logged_by = table.Column<string>(type: "text", nullable: false),
                    version = table.Column<int>(type: "integer", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("pk_private_practice", x => x.id);
                    table.CheckConstraint("private_practice_minutes", "minutes BETWEEN 1 AND 600");
                });

            migrationBuilder.CreateTable(
                name: "mock_test_changes",
                schema: "syllabus",
                columns: table => new
                {
                    id = table.Column<Guid>(type: "uuid", nullable: false),
                    mock_test_id = table.Column<Guid>(type: "uuid", nullable: false),
                    at = table.Column<Instant>(type: "timestamp with time zone", nullable: false),
                    by_person_id = table.Column<Guid>(type: "uuid", nullable: false),
                    by_name = table.Column<string>(type: "text", nullable: false),
                    words = table.Column<string>(type: "text", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("pk_mock_test_changes", x => x.id);
                });

            migrationBuilder.CreateTable(
                name: "mock_tests",
                schema: "syllabus",
                columns: table => new
                {
                    id = table.Column<Guid>(type: "uuid", nullable: false),
                    pupil_id = table.Column<Guid>(type: "uuid", nullable: false),
                    on = table.Column<LocalDate>(type: "date", nullable: false),
                    lesson_id = table.Column<Guid>(type: "uuid", nullable: true),
                    eta_verbal = table.Column<int>(type: "integer", nullable: false),
                    eta_physical = table.Column<int>(type: "integer", nullable: false),
                    note = table.Column<string>(type: "text", nullable: false),
                    started_at = table.Column<Instant>(type: "timestamp with time zone", nullable: false),
                    recorded_by = table.Column<Guid>(type: "uuid", nullable: false),
                    recorded_by_name = table.Column<string>(type: "text", nullable: false),
                    finished_at = table.Column<Instant>(type: "timestamp with time zone", nullable: true),
                    version = table.Column<int>(type: "integer", nullable: false),
                    faults = table.Column<string>(type: "jsonb", nullable: true)
                },
                constraints: table =>
                {
                    table.PrimaryKey("pk_mock_tests", x => x.id);
                });

            migrationBuilder.CreateTable(
                name: "brief_settings",
                schema: "syllabus",
                columns: table => new
                {
                    id = table.Column<Guid>(type: "uuid", nullable: false),
                    hour = table.Column<int>(type: "integer", nullable: true),
                    version = table.Column<int>(type: "integer", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("pk_brief_settings", x => x.id);
                    table.CheckConstraint("brief_settings_hour", "hour BETWEEN 12 AND 22");
                });

            migrationBuilder.CreateIndex(
                name: "ix_api_tokens_hash",
                schema: "people",
                table: "api_tokens",
                column: "hash",
                unique: true);

            migrationBuilder.CreateIndex(
                name: "ix_api_tokens_person_id",
                schema: "people",
                table: "api_tokens",
                column: "person_id");

            migrationBuilder.CreateIndex(
                name: "ix_attempt_counts_window_start",
                schema: "platform",
                table: "attempt_counts",
                column: "window_start");

            migrationBuilder.CreateIndex(
                name: "ix_audit_about_id",
                schema: "records",
                table: "audit",
                column: "about_id");

            migrationBuilder.CreateIndex(
                name: "ix_audit_at",
                schema: "records",
                table: "audit",
                column: "at");

            migrationBuilder.CreateIndex(
                name: "cars_plate_once",
                schema: "cars",
                table: "cars",
                column: "plate",
                unique: true);

            migrationBuilder.CreateIndex(
                name: "ix_feeds_owner_person_id",
                schema: "calendars",
                table: "feeds",
                column: "owner_person_id");

            migrationBuilder.CreateIndex(
                name: "ix_feeds_secret_hash",
                schema: "calendars",
                table: "feeds",
                column: "secret_hash",
                unique: true);

            migrationBuilder.CreateIndex(
                name: "ix_holdings_car_id",
                schema: "cars",
                table: "holdings",
                column: "car_id");

            migrationBuilder.CreateIndex(
                name: "ix_holdings_instructor_id",
                schema: "cars",
                table: "holdings",
                column: "instructor_id");

            migrationBuilder.CreateIndex(
                name: "ix_idempotent_answers_at",
                schema: "platform",
                table: "idempotent_answers",
                column: "at");

            migrationBuilder.CreateIndex(
                name: "ix_lesson_changes_lesson_id",
                schema: "diary",
                table: "lesson_changes",
                column: "lesson_id");

            migrationBuilder.CreateIndex(
                name: "ix_lessons_car_id_starts_at",
                schema: "diary",
                table: "lessons",
                columns: new[] { "car_id", "starts_at" });

            migrationBuilder.CreateIndex(
                name: "ix_lessons_instructor_id_starts_at",
                schema: "diary",
                table: "lessons",
                columns: new[] { "instructor_id", "starts_at" });

            migrationBuilder.CreateIndex(
                name: "ix_lessons_pupil_id_starts_at",
                schema: "diary",
                table: "lessons",
                columns: new[] { "pupil_id", "starts_at" });

            migrationBuilder.CreateIndex(
                name: "ix_lessons_starts_at",
                schema: "diary",
                table: "lessons",
                column: "starts_at");

            migrationBuilder.CreateIndex(
                name: "ix_messages_about_id",
                schema: "messages",
                table: "messages",
                column: "about_id");

            migrationBuilder.CreateIndex(
                name: "ix_messages_state_due_at",
                schema: "messages",
                table: "messages",
                columns: new[] { "state", "due_at" });

            migrationBuilder.CreateIndex(
                name: "messages_once",
                schema: "messages",
                table: "messages",
                column: "key",
                unique: true);

            migrationBuilder.CreateIndex(
                name: "ix_off_road_car_id",
                schema: "cars",
                table: "off_road",
                column: "car_id");

            migrationBuilder.CreateIndex(
                name: "ix_people_instructor_id",
                schema: "people",
                table: "people",
                column: "instructor_id",
                unique: true);

            migrationBuilder.CreateIndex(
                name: "ix_people_pupil_id",
                schema: "people",
                table: "people",
                column: "pupil_id",
                unique: true);

            migrationBuilder.CreateIndex(
                name: "people_email_once",
                schema: "people",
                table: "people",
                column: "normalized_email",
                unique: true);

            migrationBuilder.CreateIndex(
                name: "people_user_name_once",
                schema: "people",
                table: "people",
                column: "normalized_user_name",
                unique: true);

            migrationBuilder.CreateIndex(
                name: "ix_pupils_name",
                schema: "pupils",
                table: "pupils",
                column: "name");

            migrationBuilder.CreateIndex(
                name: "ix_pupils_usual_instructor_id",
                schema: "pupils",
                table: "pupils",
                column: "usual_instructor_id");

            migrationBuilder.CreateIndex(
                name: "ix_time_off_instructor_id_starts_at",
                schema: "diary",
                table: "time_off",
                columns: new[] { "instructor_id", "starts_at" });

            migrationBuilder.CreateIndex(
                name: "ix_working_hours_instructor_id",
                schema: "diary",
                table: "working_hours",
                column: "instructor_id");

            migrationBuilder.CreateIndex(
                name: "ix_lessons_series_id_starts_at",
                schema: "diary",
                table: "lessons",
                columns: new[] { "series_id", "starts_at" },
                filter: "series_id IS NOT NULL");

            migrationBuilder.CreateIndex(
                name: "ix_freed_slots_starts_at",
                schema: "diary",
                table: "freed_slots",
                column: "starts_at",
                filter: "state = 'Offering'");

            migrationBuilder.CreateIndex(
                name: "ix_offers_pupil_id",
                schema: "diary",
                table: "offers",
                column: "pupil_id");

            migrationBuilder.CreateIndex(
                name: "ix_offers_waiting_id",
                schema: "diary",
                table: "offers",
                column: "waiting_id");

            migrationBuilder.CreateIndex(
                name: "offers_once",
                schema: "diary",
                table: "offers",
                columns: new[] { "freed_id", "waiting_id" },
                unique: true);

            migrationBuilder.CreateIndex(
                name: "offers_one_accepted",
                schema: "diary",
                table: "offers",
                column: "freed_id",
                unique: true,
                filter: "state = 'Accepted'");

            migrationBuilder.CreateIndex(
                name: "waiting_once",
                schema: "diary",
                table: "waiting",
                columns: new[] { "pupil_id", "for" },
                unique: true,
                filter: "state = 'Waiting'");

            migrationBuilder.CreateIndex(
                name: "ix_test_day_changes_test_day_id",
                schema: "diary",
                table: "test_day_changes",
                column: "test_day_id");

            migrationBuilder.CreateIndex(
                name: "ix_test_days_car_id",
                schema: "diary",
                table: "test_days",
                column: "car_id");

            migrationBuilder.CreateIndex(
                name: "ix_test_days_instructor_id",
                schema: "diary",
                table: "test_days",
                column: "instructor_id");

            migrationBuilder.CreateIndex(
                name: "ix_test_days_pupil_id",
                schema: "diary",
                table: "test_days",
                column: "pupil_id");

            migrationBuilder.CreateIndex(
                name: "ix_test_days_starts_at",
                schema: "diary",
                table: "test_days",
                column: "starts_at");

            migrationBuilder.CreateIndex(
                name: "ix_availability_pupil_id",
                schema: "pupils",
                table: "availability",
                column: "pupil_id");

            migrationBuilder.CreateIndex(
                name: "ix_covers_asked_at",
                schema: "diary",
                table: "covers",
                column: "asked_at");

            migrationBuilder.CreateIndex(
                name: "ix_drives_asked_at",
                schema: "travel",
                table: "drives",
                column: "asked_at");

            migrationBuilder.CreateIndex(
                name: "ix_legs_instructor_id_left_at",
                schema: "travel",
                table: "legs",
                columns: new[] { "instructor_id", "left_at" });

            migrationBuilder.CreateIndex(
                name: "ix_legs_left_at",
                schema: "travel",
                table: "legs",
                column: "left_at");

            migrationBuilder.CreateIndex(
                name: "legs_one_under_way",
                schema: "travel",
                table: "legs",
                column: "instructor_id",
                unique: true,
                filter: "arrived_at IS NULL");

            migrationBuilder.CreateIndex(
                name: "ix_lesson_record_changes_lesson_id",
                schema: "syllabus",
                table: "lesson_record_changes",
                column: "lesson_id");

            migrationBuilder.CreateIndex(
                name: "ix_lesson_records_pupil_id",
                schema: "syllabus",
                table: "lesson_records",
                column: "pupil_id");

            migrationBuilder.CreateIndex(
                name: "ix_private_practice_pupil_id_on",
                schema: "syllabus",
                table: "private_practice",
                columns: new[] { "pupil_id", "on" });

            migrationBuilder.CreateIndex(
                name: "ix_mock_test_changes_mock_test_id",
                schema: "syllabus",
                table: "mock_test_changes",
                column: "mock_test_id");

            migrationBuilder.CreateIndex(
                name: "ix_mock_tests_pupil_id_on",
                schema: "syllabus",
                table: "mock_tests",
                columns: new[] { "pupil_id", "on" });

            using var stream = typeof(Initial).Assembly.GetManifestResourceStream("20261125182925_Initial.sql");
            using var reader = new StreamReader(stream);
            migrationBuilder.Sql(reader.ReadToEnd());
        }
    }
}
