using School.Web.Modules.School.Contracts;
using School.Web.Platform.Layout;

namespace School.Web.Modules.School;

/// <summary>The school's name over every page.</summary>
internal sealed class HeadingOfSchool(SchoolInfo school) : IHeading
{
    public async Task<string> WordsAsync(CancellationToken cancel) => (await school.GetAsync(cancel)).Name;
}
