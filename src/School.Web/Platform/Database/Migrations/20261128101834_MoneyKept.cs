using System;
using System.IO;
using Microsoft.EntityFrameworkCore.Migrations;
using NodaTime;
using Npgsql.EntityFrameworkCore.PostgreSQL.Metadata;

#nullable disable

namespace School.Web.Platform.Database.Migrations
{
    /// <inheritdoc />
    internal partial class MoneyKept : Migration
    {
        /// <inheritdoc />
        protected override void Up(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.EnsureSchema(
                name: "accounts");

            migrationBuilder.CreateTable(
                name: "books",
                schema: "accounts",
                columns: table => new
                {
                    id = table.Column<Guid>(type: "uuid", nullable: false),
                    instructor_id = table.Column<Guid>(type: "uuid", nullable: true),
                    currency = table.Column<string>(type: "character varying(3)", maxLength: 3, nullable: false),
                    opened_on = table.Column<LocalDate>(type: "date", nullable: false),
                    vat_from = table.Column<LocalDate>(type: "date", nullable: true),
                    refund_rule = table.Column<string>(type: "text", nullable: false),
                    version = table.Column<int>(type: "integer", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("pk_books", x => x.id);
                });

            migrationBuilder.CreateTable(
                name: "decided_fees",
                schema: "accounts",
                columns: table => new
                {
                    id = table.Column<Guid>(type: "uuid", nullable: false),
                    lesson_id = table.Column<Guid>(type: "uuid", nullable: false),
                    pupil_id = table.Column<Guid>(type: "uuid", nullable: false),
                    at = table.Column<Instant>(type: "timestamp with time zone", nullable: false),
                    lesson_starts_at = table.Column<Instant>(type: "timestamp with time zone", nullable: false),
                    code = table.Column<string>(type: "text", nullable: false),
                    reason = table.Column<string>(type: "text", nullable: false),
                    percent = table.Column<int>(type: "integer", nullable: false),
                    entry_id = table.Column<Guid>(type: "uuid", nullable: true),
                    taken_back = table.Column<bool>(type: "boolean", nullable: false),
                    waived_at = table.Column<Instant>(type: "timestamp with time zone", nullable: true),
                    waived_because = table.Column<string>(type: "text", nullable: false),
                    version = table.Column<int>(type: "integer", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("pk_decided_fees", x => x.id);
                });

            migrationBuilder.CreateTable(
                name: "terms",
                schema: "accounts",
                columns: table => new
                {
                    number = table.Column<int>(type: "integer", nullable: false),
                    text = table.Column<string>(type: "text", nullable: false),
                    names_fees = table.Column<bool>(type: "boolean", nullable: false),
                    written_at = table.Column<Instant>(type: "timestamp with time zone", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("pk_terms", x => x.number);
                });

            migrationBuilder.CreateTable(
                name: "blocks",
                schema: "accounts",
                columns: table => new
                {
                    id = table.Column<Guid>(type: "uuid", nullable: false),
                    book_id = table.Column<Guid>(type: "uuid", nullable: false),
                    pupil_id = table.Column<Guid>(type: "uuid", nullable: false),
                    sold_on = table.Column<LocalDate>(type: "date", nullable: false),
                    minutes = table.Column<int>(type: "integer", nullable: false),
                    pence = table.Column<long>(type: "bigint", nullable: false),
                    vat_per_mille = table.Column<int>(type: "integer", nullable: true),
                    single_pence = table.Column<long>(type: "bigint", nullable: true),
                    refund_rule = table.Column<string>(type: "text", nullable: false),
                    asked_to_begin = table.Column<bool>(type: "boolean", nullable: false),
                    from_before = table.Column<bool>(type: "boolean", nullable: false),
                    sold_at = table.Column<Instant>(type: "timestamp with time zone", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("pk_blocks", x => x.id);
                    table.CheckConstraint("blocks_bounds", "minutes BETWEEN 1 AND 6000 AND pence BETWEEN 0 AND 10000000");
                    table.ForeignKey(
                        name: "fk_blocks_book_book_id",
                        column: x => x.book_id,
                        principalSchema: "accounts",
                        principalTable: "books",
                        principalColumn: "id",
                        onDelete: ReferentialAction.Cascade);
                });

            migrationBuilder.CreateTable(
                name: "entries",
                schema: "accounts",
                columns: table => new
                {
                    id = table.Column<Guid>(type: "uuid", nullable: false),
                    book_id = table.Column<Guid>(type: "uuid", nullable: false),
                    on = table.Column<LocalDate>(type: "date", nullable: false),
                    at = table.Column<Instant>(type: "timestamp with time zone", nullable: false),
                    kind = table.Column<string>(type: "text", nullable: false),
                    posted_by = table.Column<Guid>(type: "uuid", nullable: false),
                    pupil_id = table.Column<Guid>(type: "uuid", nullable: true),
                    lesson_id = table.Column<Guid>(type: "uuid", nullable: true),
                    turn = table.Column<int>(type: "integer", nullable: true),
                    lesson_starts_at = table.Column<Instant>(type: "timestamp with time zone", nullable: true),
                    lesson_minutes = table.Column<int>(type: "integer", nullable: true),
                    lesson_pence = table.Column<long>(type: "bigint", nullable: true),
                    price_id = table.Column<Guid>(type: "uuid", nullable: true),
                    block_id = table.Column<Guid>(type: "uuid", nullable: true),
                    payment_id = table.Column<Guid>(type: "uuid", nullable: true),
                    reverses_id = table.Column<Guid>(type: "uuid", nullable: true),
                    reason = table.Column<string>(type: "text", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("pk_entries", x => x.id);
                    table.ForeignKey(
                        name: "fk_entries_books_book_id",
                        column: x => x.book_id,
                        principalSchema: "accounts",
                        principalTable: "books",
                        principalColumn: "id",
                        onDelete: ReferentialAction.Cascade);
                });

            migrationBuilder.CreateTable(
                name: "fees",
                schema: "accounts",
                columns: table => new
                {
                    id = table.Column<Guid>(type: "uuid", nullable: false),
                    book_id = table.Column<Guid>(type: "uuid", nullable: false),
                    from = table.Column<LocalDate>(type: "date", nullable: false),
                    late_percent = table.Column<int>(type: "integer", nullable: false),
                    late_move_percent = table.Column<int>(type: "integer", nullable: false),
                    missed_percent = table.Column<int>(type: "integer", nullable: false),
                    free_a_year = table.Column<int>(type: "integer", nullable: false),
                    needs_reminder = table.Column<bool>(type: "boolean", nullable: false),
                    added_at = table.Column<Instant>(type: "timestamp with time zone", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("pk_fees", x => x.id);
                    table.CheckConstraint("fees_bounds", "late_percent BETWEEN 0 AND 100 AND late_move_percent BETWEEN 0 AND 100 AND missed_percent BETWEEN 0 AND 100 AND free_a_year BETWEEN 0 AND 12");
                    table.ForeignKey(
                        name: "fk_fees_books_book_id",
                        column: x => x.book_id,
                        principalSchema: "accounts",
                        principalTable: "books",
                        principalColumn: "id",
                        onDelete: ReferentialAction.Cascade);
                });

            migrationBuilder.CreateTable(
                name: "payments",
                schema: "accounts",
                columns: table => new
                {
                    id = table.Column<Guid>(type: "uuid", nullable: false),
                    book_id = table.Column<Guid>(type: "uuid", nullable: false),
                    number = table.Column<int>(type: "integer", nullable: false),
                    pupil_id = table.Column<Guid>(type: "uuid", nullable: false),
                    pence = table.Column<long>(type: "bigint", nullable: false),
                    method = table.Column<string>(type: "text", nullable: false),
                    paid_on = table.Column<LocalDate>(type: "date", nullable: false),
                    reference = table.Column<string>(type: "text", nullable: false),
                    holder_id = table.Column<Guid>(type: "uuid", nullable: true),
                    at = table.Column<Instant>(type: "timestamp with time zone", nullable: false),
                    taken_by = table.Column<string>(type: "text", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("pk_payments", x => x.id);
                    table.CheckConstraint("payments_bounds", "pence <> 0 AND abs(pence) <= 10000000");
                    table.ForeignKey(
                        name: "fk_payments_books_book_id",
                        column: x => x.book_id,
                        principalSchema: "accounts",
                        principalTable: "books",
                        principalColumn: "id",
                        onDelete: ReferentialAction.Cascade);
                });

            migrationBuilder.CreateTable(
                name: "prices",
                schema: "accounts",
                columns: table => new
                {
                    id = table.Column<Guid>(type: "uuid", nullable: false),
                    book_id = table.Column<Guid>(type: "uuid", nullable: false),
                    booked_from = table.Column<LocalDate>(type: "date", nullable: false),
                    pence = table.Column<long>(type: "bigint", nullable: true),
                    minutes = table.Column<int>(type: "integer", nullable: false),
                    only_this_length = table.Column<bool>(type: "boolean", nullable: false),
                    kind = table.Column<string>(type: "text", nullable: true),
                    gearbox = table.Column<string>(type: "text", nullable: true),
                    instructor_id = table.Column<Guid>(type: "uuid", nullable: true),
                    days = table.Column<int>(type: "integer", nullable: true),
                    from = table.Column<LocalTime>(type: "time", nullable: true),
                    until = table.Column<LocalTime>(type: "time", nullable: true),
                    added_at = table.Column<Instant>(type: "timestamp with time zone", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("pk_prices", x => x.id);
                    table.CheckConstraint("prices_bounds", "(pence IS NULL OR pence BETWEEN 0 AND 10000000) AND minutes BETWEEN 15 AND 480 AND (days IS NULL OR days BETWEEN 1 AND 127)");
                    table.CheckConstraint("prices_hours", "(days IS NULL) = (\"from\" IS NULL) AND (days IS NULL) = (until IS NULL)");
                    table.ForeignKey(
                        name: "fk_prices_books_book_id",
                        column: x => x.book_id,
                        principalSchema: "accounts",
                        principalTable: "books",
                        principalColumn: "id",
                        onDelete: ReferentialAction.Cascade);
                });

            migrationBuilder.CreateTable(
                name: "terms_accepted",
                schema: "accounts",
                columns: table => new
                {
                    pupil_id = table.Column<Guid>(type: "uuid", nullable: false),
                    number = table.Column<int>(type: "integer", nullable: false),
                    at = table.Column<Instant>(type: "timestamp with time zone", nullable: false),
                    by_themselves = table.Column<bool>(type: "boolean", nullable: false),
                    noted_by = table.Column<string>(type: "text", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("pk_terms_accepted", x => new { x.pupil_id, x.number });
                    table.ForeignKey(
                        name: "fk_terms_accepted_terms_number",
                        column: x => x.number,
                        principalSchema: "accounts",
                        principalTable: "terms",
                        principalColumn: "number",
                        onDelete: ReferentialAction.Cascade);
                });

            migrationBuilder.CreateTable(
                name: "lines",
                schema: "accounts",
                columns: table => new
                {
                    id = table.Column<long>(type: "bigint", nullable: false)
                        .Annotation("Npgsql:ValueGenerationStrategy", NpgsqlValueGenerationStrategy.IdentityByDefaultColumn),
                    entry_id = table.Column<Guid>(type: "uuid", nullable: false),
                    account = table.Column<string>(type: "text", nullable: false),
                    pence = table.Column<long>(type: "bigint", nullable: false),
                    pupil_id = table.Column<Guid>(type: "uuid", nullable: true),
                    block_id = table.Column<Guid>(type: "uuid", nullable: true),
                    holder_id = table.Column<Guid>(type: "uuid", nullable: true),
                    minutes = table.Column<int>(type: "integer", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("pk_lines", x => x.id);
                    table.ForeignKey(
                        name: "fk_lines_entries_entry_id",
                        column: x => x.entry_id,
                        principalSchema: "accounts",
                        principalTable: "entries",
                        principalColumn: "id",
                        onDelete: ReferentialAction.Cascade);
                });

            migrationBuilder.CreateIndex(
                name: "ix_blocks_book_id",
                schema: "accounts",
                table: "blocks",
                column: "book_id");

            migrationBuilder.CreateIndex(
                name: "ix_blocks_pupil_id",
                schema: "accounts",
                table: "blocks",
                column: "pupil_id");

            migrationBuilder.CreateIndex(
                name: "books_one_for_each_seller",
                schema: "accounts",
                table: "books",
                column: "instructor_id",
                unique: true)
                .Annotation("Npgsql:NullsDistinct", false);

            migrationBuilder.CreateIndex(
                name: "ix_decided_fees_lesson_id",
                schema: "accounts",
                table: "decided_fees",
                column: "lesson_id");

            migrationBuilder.CreateIndex(
                name: "ix_decided_fees_pupil_id_at",
                schema: "accounts",
                table: "decided_fees",
                columns: new[] { "pupil_id", "at" });

            migrationBuilder.CreateIndex(
                name: "entries_lesson_turn",
                schema: "accounts",
                table: "entries",
                columns: new[] { "lesson_id", "turn" },
                unique: true);

            migrationBuilder.CreateIndex(
                name: "entries_reversed_once",
                schema: "accounts",
                table: "entries",
                column: "reverses_id",
                unique: true);

            migrationBuilder.CreateIndex(
                name: "ix_entries_book_id_on",
                schema: "accounts",
                table: "entries",
                columns: new[] { "book_id", "on" });

            migrationBuilder.CreateIndex(
                name: "ix_entries_pupil_id_on_id",
                schema: "accounts",
                table: "entries",
                columns: new[] { "pupil_id", "on", "id" });

            migrationBuilder.CreateIndex(
                name: "ix_fees_book_id",
                schema: "accounts",
                table: "fees",
                column: "book_id");

            migrationBuilder.CreateIndex(
                name: "ix_lines_entry_id",
                schema: "accounts",
                table: "lines",
                column: "entry_id");

            migrationBuilder.CreateIndex(
                name: "ix_lines_pupil_id_account",
                schema: "accounts",
                table: "lines",
                columns: new[] { "pupil_id", "account" })
                .Annotation("Npgsql:IndexInclude", new[] { "pence", "minutes", "block_id" });

            migrationBuilder.CreateIndex(
                name: "ix_payments_paid_on",
                schema: "accounts",
                table: "payments",
                column: "paid_on");

            migrationBuilder.CreateIndex(
                name: "ix_payments_pupil_id",
                schema: "accounts",
                table: "payments",
                column: "pupil_id");

            migrationBuilder.CreateIndex(
                name: "payments_number_once",
                schema: "accounts",
                table: "payments",
                columns: new[] { "book_id", "number" },
                unique: true);

            migrationBuilder.CreateIndex(
                name: "ix_prices_book_id",
                schema: "accounts",
                table: "prices",
                column: "book_id");

            migrationBuilder.CreateIndex(
                name: "ix_terms_accepted_number",
                schema: "accounts",
                table: "terms_accepted",
                column: "number");

            using var stream = typeof(MoneyKept).Assembly.GetManifestResourceStream("20261128101834_MoneyKept.sql");
            using var reader = new StreamReader(stream);
            migrationBuilder.Sql(reader.ReadToEnd());
        }

        /// <inheritdoc />
        protected override void Down(MigrationBuilder migrationBuilder) =>
            throw new NotSupportedException("Restore the backup that was made before.");
    }
}
