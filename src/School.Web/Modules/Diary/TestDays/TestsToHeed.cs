using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;

namespace School.Web.Modules.Diary.TestDays;

/// <summary>Test days ahead that have warnings.</summary>
internal sealed class TestsToHeed(TestDayReader tests, SchoolInfo school, Viewer viewer) : INeedAttention
{
    public const string Kind = "test_day";

    private static readonly AttentionHeading Heading = new(20, "Test days", "Look at the test day");

    public async Task<IReadOnlyList<AttentionItem>> ListAsync(CancellationToken cancel)
    {
        var facts = await school.GetAsync(cancel);
        return
        [
            .. from card in await tests.ComingAsync(null, viewer, cancel)
               where card.Warnings.Count > 0
               select new AttentionItem(
                   Kind,
                   Heading,
                   $"Test of {card.Pupil.Name}, {facts.Moment(card.Test.StartsAt)}: {string.Join(" ", card.Warnings.Select(w => w.Telling.ToStaff))}",
                   TestDayWords.Address(card.Test.Id),
                   card.Test.StartsAt.InZone(facts.Zone).Date),
        ];
    }
}
