using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Core;
using School.Core.Diary;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.Records.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Api.Document;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;
using School.Web.Platform.Forms;
using School.Web.Platform.Layout;

namespace School.Web.Modules.Diary.Supervision;

/// <summary>How long somebody sat in on a day: an approved instructor of the school by their id, else a name and a number; thereAllTheSame where their own diary has something else then.</summary>
internal sealed record SupervisionInput(
    [property: Needed, Between(1, SupervisedDay.MostMinutes)] int? Minutes = null, Guid? ByInstructorId = null,
    [property: AtMost(SupervisedDay.LongestName)] string? ByName = null, [property: AtMost(SupervisedDay.LongestNumber)] string? ByNumber = null,
    bool ThereAllTheSame = false);

/// <summary>A day of a trainee's record.</summary>
/// <param name="Date">The day.</param>
/// <param name="Input">What is entered.</param>
/// <param name="Row">The number on the certificate of whoever is put right; null for the only one of the day.</param>
internal sealed record TraineeDate(LocalDate Date, SupervisionInput Input, string? Row = null);

/// <summary>Enters how long an approved instructor sat in on a trainee's lessons of a day, or puts it right.</summary>
internal sealed class KeepSupervision(SchoolDb db, SupervisionBook book, InstructorBook instructors, Audit audit, SchoolInfo school, IClock clock)
{
    internal static Refusal NotKept(Guid id) => Refusal.Rule(
        "no_supervision_kept", "Only a trainee under option 1 keeps a record of supervision, from the first day of the licence. Enter option and first day on the instructor's page.")
        .CuredOn($"/people/instructors/{id}#Input_TraineeOption");

    internal const string Day = "day of supervision";

    internal const string VersionMember = "version";

    internal const string NumberMember = "byNumber";

    private static Refusal EnteredAlready(SupervisedDay row) => Refusal.Conflict(
        "supervision_entered",
        $"{ScreenWords.DayAndYear(row.Date)} is entered already: {ScreenWords.Length(row.Minutes)} by {row.ByName} ({row.ByNumber}). Look at it first, then put it right.") with
    {
        More = new Dictionary<string, object?> { [VersionMember] = row.Version, [NumberMember] = row.ByNumber, [Refusal.PageMember] = PageOf(row) },
    };

    private static Refusal BySeveral(IReadOnlyList<SupervisedDay> rows) => Refusal.Conflict(
        "supervision_by_several",
        $"Several sat in on that day: {string.Join(", ", rows.Select(row => $"{row.ByName} ({row.ByNumber})"))}. Say of whom it is, by the number on their certificate.")
        .CuredOn(PageOf(rows[0]));

    private static Refusal Elsewhere(string sentence) => Refusal.Conflict("supervisor_elsewhere", sentence) with
    {
        Fields = new Dictionary<string, string[]> { [nameof(SupervisionInput.ByInstructorId)] = [sentence] },
    };

    /// <summary>The record of that day.</summary>
    private static string PageOf(SupervisedDay row) => $"/diary/supervision/{row.InstructorId}?from={row.Date:uuuu-MM-dd}&to={row.Date:uuuu-MM-dd}";

    internal static string LockOf(Guid trainee) => $"supervision:{trainee}";

    /// <summary>The one of a day that is meant: by its number, else the only one; a refusal where that is not clear.</summary>
    internal static Outcome<SupervisedDay> Meant(IReadOnlyList<SupervisedDay> rows, string? number) =>
        number is null && rows.Count > 1 ? BySeveral(rows)
        : rows.FirstOrDefault(row => number is null || row.ByNumber == number) is { } row ? row
        : Refusal.NotFound(Day);

    public Task<Outcome<SupervisedDay>> RunAsync(Viewer viewer, Guid id, TraineeDate day, int? expected, CancellationToken cancel) => db.InTransactionAsync<SupervisedDay>(
        async cancel =>
        {
            await db.LockAsync([LockOf(id)], cancel);
            if (!viewer.KeepsDiaryOf(id) || await instructors.FindAsync(id, cancel) is not { } trainee)
            {
                return Refusal.NotFound("instructor");
            }

            // What was entered may be put right whatever became of the licence since.
            var all = await db.Set<SupervisedDay>().Where(d => d.InstructorId == id).OrderBy(d => d.Date).ThenBy(d => d.Id).ToListAsync(cancel);
            var kept = all.FindAll(d => d.Date == day.Date);
            if (all.Count == 0 && !SupervisionBook.IsKeptOf(trainee))
            {
                return NotKept(id);
            }

            SupervisedDay? right = null;
            if (expected is not null)
            {
                var meant = Meant(kept, day.Row);
                if (meant.Refusal is { Kind: not RefusalKind.NotFound } unclear)
                {
                    return unclear;
                }

                right = meant.Value;
                if (kept.FindAll(row => row == right).StaleIn(expected) is { } stale)
                {
                    return stale;
                }
            }

            var errors = new FieldErrors();
            var (name, number) = await ReadByAsync(id, day, errors, cancel);
            await CheckDayAsync(trainee, day, kept.Count > 0, kept.Where(row => row != right && row.ByNumber != number).Sum(row => row.Minutes), errors, cancel);
            if (errors.ToRefusal() is { } invalid)
            {
                return invalid;
            }

            if (kept.Find(row => row != right && row.ByNumber == number) is { } stands)
            {
                return EnteredAlready(stands);
            }

            var minutes = day.Input.Minutes!.Value;
            var elsewhere = day.Input.ByInstructorId is { } by ? await book.ElsewhereAsync(id, by, name, day.Date, minutes, cancel) : null;
            if (elsewhere is not null && !day.Input.ThereAllTheSame)
            {
                return Elsewhere($"{elsewhere} Change the minutes or who sat in, or confirm that they were there all the same.");
            }

            if (right is not { } row)
            {
                db.Add(row = new() { InstructorId = id, Date = day.Date, Minutes = minutes, ByName = name, ByNumber = number });
            }
            else
            {
                (row.Minutes, row.ByName, row.ByNumber) = (minutes, name, number);
            }

            audit.Note(viewer, "instructor.supervision", id, $"{trainee.Name} on {ScreenWords.DayAndYear(day.Date)}: {name} ({number}) sat in for {ScreenWords.Length(minutes)}.{(elsewhere is null ? "" : $" {elsewhere} Confirmed: they were there all the same.")}");
            return row;
        },
        cancel);

    private async Task CheckDayAsync(
        InstructorCard trainee, TraineeDate day, bool entered, int others, FieldErrors errors, CancellationToken cancel)
    {
        var given = await book.GivenOnAsync(trainee.Id, day.Date, cancel);
        if (day.Date > (await school.GetAsync(cancel)).Today(clock))
        {
            errors.Add(nameof(day.Date), "That day is still to come.");
        }
        else if (!entered && !HeldLicence(trainee, day.Date, given))
        {
            errors.Add(nameof(day.Date), "No trainee licence under option 1 is known to have held on that day.");
        }
        else if (day.Input.Minutes is not (>= 1 and <= SupervisedDay.MostMinutes))
        {
            errors.Add(nameof(day.Input.Minutes), $"Enter the minutes, from 1 to {SupervisedDay.MostMinutes}.");
        }
        else if (day.Input.Minutes + others > given)
        {
            errors.Add(nameof(day.Input.Minutes), given == 0
                ? "The diary has no lesson given on that day, so nobody can have sat in."
                : $"The lessons of that day lasted {ScreenWords.Length(given)} together{(others > 0 ? $", and others sat in for {ScreenWords.Length(others)} of it" : "")}; nobody can have sat in for longer.");
        }
    }

    /// <summary>Of a former licence the dates are not kept any more: lessons given before the present one were given under it.</summary>
    private static bool HeldLicence(InstructorCard trainee, LocalDate date, int given) =>
        (SupervisionBook.IsKeptOf(trainee) && trainee.Facts.IsRegisteredOn(date)) || (given > 0 && date < trainee.Facts.RegisteredFrom);

    private async Task<(string Name, string Number)> ReadByAsync(Guid trainee, TraineeDate day, FieldErrors errors, CancellationToken cancel)
    {
        var input = day.Input;
        if (input.ByInstructorId is { } id)
        {
            var by = await instructors.FindAsync(id, cancel);
            var typed = !string.IsNullOrWhiteSpace(input.ByName) || !string.IsNullOrWhiteSpace(input.ByNumber);
            errors.When(typed, nameof(input.ByInstructorId), "Name an instructor of the school, or a name and a number, not both.");
            var approved = by is { Facts.Kind: RegistrationKind.Approved, RegistrationNumber.Length: > 0 } && id != trainee;
            errors.When(!approved, nameof(input.ByInstructorId), "Choose an approved instructor of the school.");
            errors.When(
                approved && !by!.Facts.IsRegisteredOn(day.Date), nameof(input.ByInstructorId),
                $"{by?.Name}'s registration is not known to have held on that day. Look at it on the instructor's page.");
            return (by?.Name ?? "", by?.RegistrationNumber ?? "");
        }

        var name = errors.ReadLine(nameof(input.ByName), input.ByName, SupervisedDay.LongestName, "Say who sat in: choose an instructor, or enter the name and the number of their certificate.");
        var number = errors.ReadLine(nameof(input.ByNumber), input.ByNumber, SupervisedDay.LongestNumber, "Enter the number on the certificate of whoever sat in.");
        return (name, number);
    }
}

/// <summary>What somebody sat in on a day; without a number the only one of that day.</summary>
internal sealed record TraineeRow(LocalDate Date, string? Number = null);

/// <summary>Takes a day of supervision back that was entered by mistake.</summary>
internal sealed class RemoveSupervision(SchoolDb db, InstructorBook instructors, Audit audit)
{
    public Task<Outcome<SupervisedDay>> RunAsync(Viewer viewer, Guid id, TraineeRow day, int? expected, CancellationToken cancel) => db.InTransactionAsync<SupervisedDay>(
        async cancel =>
        {
            await db.LockAsync([KeepSupervision.LockOf(id)], cancel);
            if (!viewer.KeepsDiaryOf(id) || await instructors.FindAsync(id, cancel) is not { } trainee)
            {
                return Refusal.NotFound(KeepSupervision.Day);
            }

            var kept = await db.Set<SupervisedDay>().Where(d => d.InstructorId == id && d.Date == day.Date).OrderBy(d => d.Id).ToListAsync(cancel);
            var meant = KeepSupervision.Meant(kept, day.Number);
            if (!meant.Ok)
            {
                return meant;
            }

            var taken = kept.Take(meant.Value.Id, expected, KeepSupervision.Day);
            if (taken is { Value: { } row })
            {
                db.Remove(row);
                audit.Note(viewer, "instructor.supervision", id, $"{trainee.Name} on {ScreenWords.DayAndYear(day.Date)}: that {row.ByName} sat in was taken back.");
            }

            return taken;
        },
        cancel);
}
