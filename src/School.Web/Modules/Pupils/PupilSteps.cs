using School.Core.Pupils;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.School.Contracts;

namespace School.Web.Modules.Pupils;

/// <summary>A pupil for whom a first lesson can be booked: what is seen before driving is asked until then.</summary>
internal sealed class PupilSteps(FirstPupils pupils) : IFirstSteps
{
    private const string Title = "The first pupil";

    public async Task<IReadOnlyList<FirstStep>> ListAsync(string address, CancellationToken cancel) =>
    [
        await pupils.ListAsync(cancel) switch
        {
            [] => new("pupil", 70, false, Title, "Nobody learns here yet.", "Add a pupil", "/pupils/new"),
            [{ Missing: FirstLessonNeeds.None } ready, ..] => new("pupil", 70, true, Title, $"{ready.Name} learns here.", "", "/pupils"),
            [var first, ..] => new(
                "pupil", 70, false, Title, $"{first.Name}: still needed before a first lesson: {string.Join(", ", first.Missing.Each())}.", "Enter it", new StillNeeded(first.Id, first.Missing).Page),
        },
    ];
}
