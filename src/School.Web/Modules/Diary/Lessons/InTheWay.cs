using School.Web.Modules.Diary.Search;
using School.Web.Modules.School.Contracts;

namespace School.Web.Modules.Diary.Lessons;

/// <summary>Every cause why no time fits: what the school lacks, and what refused the times.</summary>
internal sealed record InTheWay(IReadOnlyList<FirstStep> Lacks, IReadOnlyList<Obstacle> Obstacles);
