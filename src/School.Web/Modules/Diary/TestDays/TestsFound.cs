using Microsoft.EntityFrameworkCore;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Find;
using School.Web.Platform.Layout;

namespace School.Web.Modules.Diary.TestDays;

/// <summary>Tests by their reference however it is spaced, and those ahead of the pupils who are looked for.</summary>
internal sealed class TestsFound(TestDayAccess access, FoundPupils pupils, PupilBook book, SchoolInfo school) : IFind
{
    private const int MostPupils = 3;
    private const string Itself = " test ";

    public FoundKind Kind => FoundKind.Test;

    public async Task<IReadOnlyList<Found>> FindAsync(Viewer viewer, Question question, int most, CancellationToken cancel)
    {
        if (!viewer.May(Permission.SeeLessons) || question.Words.Count == 0)
        {
            return [];
        }

        // A reference has a digit; nothing else is looked for among all tests that ever were.
        var reference = question.Compact.Any(char.IsAsciiDigit) ? question.Compact : "";
        Guid[] whose = [.. (await pupils.OfAsync(viewer, question, MostPupils, cancel)).Select(pupil => pupil.Id)];
        var own = question.Begins(Itself) ? viewer.PupilId : null;
        if (reference.Length == 0 && whose.Length == 0 && own is null)
        {
            return [];
        }

        var pattern = $"%{reference}%";
        var rows = await access.Visible(viewer).AsNoTracking()
            .Where(t => (reference != "" && EF.Functions.ILike(t.Reference.Replace(" ", "").Replace("-", ""), pattern))
                || (t.State == TestDayState.Booked && (whose.Contains(t.PupilId) || t.PupilId == own)))
            .OrderByDescending(t => t.StartsAt).ThenBy(t => t.Id).Take(most).ToListAsync(cancel);
        var cards = rows.Count == 0 ? new Dictionary<Guid, PupilCard>() : await book.CardsAsync(rows.Select(t => t.PupilId), cancel);
        var facts = await school.GetAsync(cancel);
        return
        [
            .. rows.Select(test => new Found(
                Kind, test.Id, $"Test, {ScreenWords.DayAndYear(test.StartsAt.InZone(facts.Zone).Date)}, {facts.Time(test.StartsAt)}",
                string.Join(", ", new[] { test.PupilId == viewer.PupilId ? "" : cards[test.PupilId].Name, test.Reference, TestDayWords.Of(test).ToLowerInvariant() }.Where(words => words.Length > 0)),
                TestDayWords.Address(test.Id), reference.Length > 0 && !whose.Contains(test.PupilId) ? Fit.Start : Fit.Words)),
        ];
    }
}
