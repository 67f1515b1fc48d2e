using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using NodaTime;
using School.Core.Diary;
using School.Core.Diary.Slots;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Errors;
using School.Web.Platform.Layout;

namespace School.Web.Modules.Diary.Search;

/// <summary>What checking a time to book and checking one to move to have in common.</summary>
internal abstract class CheckPage(
    SlotFinder slots, InstructorBook instructors, PictureLoader pictures, SchoolInfo school, Viewer viewer, IClock clock) : PageModel
{
    [BindProperty(SupportsGet = true)]
    public string? Start { get; set; }

    [BindProperty(SupportsGet = true)]
    public Guid? With { get; set; }

    public InstructorCard Teacher { get; private set; } = null!;

    public SchoolFacts School { get; private set; } = null!;

    public Interval During { get; private set; }

    /// <summary>The rests within it.</summary>
    public IReadOnlyList<Interval> Rests { get; private set; } = [];

    public StartTerms Terms { get; private set; } = null!;

    /// <summary>What it means for the instructor's day; for staff.</summary>
    public string? Reason { get; private set; }

    public OtherTimes? Others { get; private set; }

    public Viewer Viewer => viewer;

    public bool Staff => viewer.IsStaff;

    public abstract string Here { get; }

    protected DiaryRules Rules { get; private set; } = null!;

    protected Task<DiaryRules> RulesAsync(CancellationToken cancel) => pictures.RulesAsync(cancel);

    protected LocalDate Date => During.Start.InZone(School.Zone).Date;

    protected Instant Now => clock.GetCurrentInstant();

    /// <summary>Word of the buttons that take one of the other times.</summary>
    protected abstract string Act { get; }

    /// <summary>What such a button sends beside start and instructor.</summary>
    protected abstract IEnumerable<KeyValuePair<string, string>> MoreFields { get; }

    /// <summary>Takes the time that is asked for; false when the instructor is nobody the viewer may book with.</summary>
    protected async Task<bool> TakeTimeAsync(Guid instructorId, Instant start, int minutes, CancellationToken cancel)
    {
        if (!viewer.MayBookWith(instructorId) || await instructors.FindAsync(instructorId, cancel) is not { } instructor)
        {
            return false;
        }

        (Teacher, School, Rules) = (instructor, await school.GetAsync(cancel), await pictures.RulesAsync(cancel));
        var plan = LessonPlan.Of(minutes, Rules);
        (During, Rests) = (new(start, start + Duration.FromMinutes(plan.Elapsed)), [.. plan.Breaks.Select(rest => rest.During(start))]);
        Terms = StartTerms.Of(start, Rules, School, viewer, Now);
        return true;
    }

    /// <summary>Asks the rules about the time: what it means for the day, or what is in the way and what else is free.</summary>
    protected async Task JudgeAsync(SlotQuestion question, PupilCard pupil, CancellationToken cancel)
    {
        var verdict = await slots.CheckAsync(question, pupil, Teacher.Id, During.Start, viewer, cancel);
        if (verdict.Ok)
        {
            Reason = Staff && verdict.Value.Reason.Length > 0 ? verdict.Value.Reason : null;
        }
        else
        {
            await RefuseAsync(await slots.WithAlternativesAsync(verdict.Refusal, question, Teacher.Id, During.Start, viewer, cancel), cancel);
        }
    }

    protected async Task RefuseAsync(Refusal refusal, CancellationToken cancel)
    {
        this.AddRefusal(refusal);
        var names = await instructors.NamesAsync(cancel);
        Others = new(Act, Here, [.. SlotRefusals.AlternativesOf(refusal).Select(o => new OtherTime(
            School.When(new(o.Start, o.End)),
            o.InstructorId == Teacher.Id ? null : names[o.InstructorId],
            [new("start", StartText.Of(o.Start)), new("with", $"{o.InstructorId}"), .. MoreFields]))])
        {
            Cure = refusal.Code == SlotRule.OutsideServedAreas.Code() && (viewer.KeepsDiary || viewer.InstructorId == Teacher.Id)
                ? new($"/people/instructors/{Teacher.Id}/areas", $"Which areas {Teacher.Name} serves") : null,
        };
    }
}
