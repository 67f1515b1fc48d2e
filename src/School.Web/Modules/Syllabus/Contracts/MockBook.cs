using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Core.Diary.TestDays;
using School.Web.Modules.Syllabus.Mocks;
using School.Web.Platform.Database;

namespace School.Web.Modules.Syllabus.Contracts;

/// <summary>A finished mock test: its day, what was marked and what the rule makes of it.</summary>
internal sealed record MockCard(Guid Id, Guid PupilId, LocalDate On, TestMarks Marks, IReadOnlyList<HeadingMarks> ByHeading)
{
    public bool Passed => Marks.Pass;
}

/// <summary>What others may ask about mock tests. Who may see them is for the caller to have asked.</summary>
internal sealed class MockBook(SchoolDb db)
{
    /// <summary>A pupil's finished mock tests, earliest first.</summary>
    public async Task<IReadOnlyList<MockCard>> OfPupilAsync(Guid pupilId, CancellationToken cancel) => (await OfPupilsAsync([pupilId], cancel))[pupilId];

    /// <summary>The same for many; every id is in the answer.</summary>
    public async Task<IReadOnlyDictionary<Guid, IReadOnlyList<MockCard>>> OfPupilsAsync(IReadOnlyCollection<Guid> pupilIds, CancellationToken cancel)
    {
        var wanted = pupilIds.Distinct().ToArray();
        var rows = await db.Set<MockTest>().AsNoTracking().Where(m => wanted.Contains(m.PupilId) && m.FinishedAt != null)
            .OrderBy(m => m.On).ThenBy(m => m.StartedAt).ToListAsync(cancel);
        var cards = rows.ToLookup(m => m.PupilId, m => new MockCard(m.Id, m.PupilId, m.On, m.Sum, m.ByHeading));
        return wanted.ToDictionary(id => id, id => (IReadOnlyList<MockCard>)[.. cards[id]]);
    }
}
