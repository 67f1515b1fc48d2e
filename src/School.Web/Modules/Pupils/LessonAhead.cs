using School.Core.Pupils;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.School.Contracts;

namespace School.Web.Modules.Pupils;

/// <summary>What a change of a pupil means for the lesson that stands next.</summary>
internal sealed class LessonAhead(IPupilDiary diary, SchoolInfo school, NodaTime.IClock clock)
{
    /// <summary>Says that it cannot take place as it stands, and why; null where it can, or there is none. Nothing is moved or cancelled by itself.</summary>
    public async Task<string?> TellAsync(Pupil pupil, CancellationToken cancel)
    {
        if (!(await diary.NextAsync([pupil.Id], cancel)).TryGetValue(pupil.Id, out var start))
        {
            return null;
        }

        var facts = await school.GetAsync(cancel);
        var block = Eligibility.Of(pupil.LearnerFacts(), start.InZone(facts.Zone).Date, facts.Today(clock)).FirstOrDefault(one => one is { Stops: true, IsOnlyUnseen: false });
        return block is null ? null
            : $"The next lesson, {PupilsToAsk.Moment(facts, start)}, cannot take place as it stands: {block.Telling.ToStaff} Nothing was cancelled: what stands is listed under what needs attention.";
    }
}
