using Google.OrTools.Sat;
using School.Core.Diary;

namespace School.Core.Tests.Diary.Slots;

/// <summary>The rests of one lesson as the solver CP-SAT (Google OR-Tools) places them, from the definition of LessonPlan alone.</summary>
internal static class BreakModel
{
    public static IReadOnlyList<LessonBreak> Plan(int minutes, DiaryRules rules)
    {
        for (var stretches = 1; ; stretches++)
        {
            var model = new CpModel();
            var lengths = Enumerable.Range(0, stretches).Select(i => model.NewIntVar(1, rules.RestMinutes == 0 ? minutes : rules.RestAfterMinutes, $"{i}")).ToList();
            model.Add(LinearExpr.Sum(lengths) == minutes);
            for (var i = 1; i < stretches; i++)
            {
                model.Add(lengths[i] <= lengths[i - 1]);
            }

            model.Minimize(lengths[0] - lengths[^1]);
            var solver = new CpSolver { StringParameters = "num_workers:1" };
            if (solver.Solve(model) is not CpSolverStatus.Optimal)
            {
                continue;
            }

            var (breaks, at) = (new List<LessonBreak>(), 0);
            foreach (var length in lengths.SkipLast(1))
            {
                at += (int)solver.Value(length);
                breaks.Add(new(at, rules.RestMinutes));
                at += rules.RestMinutes;
            }

            return breaks;
        }
    }
}
