using System.Text.Json.Serialization;
using Microsoft.EntityFrameworkCore;
using School.Core;
using School.Core.Diary.Charges;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Diary.Mail;
using School.Web.Modules.Diary.Proposals;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary.Weekly;

/// <summary>Why, and how many of them the person was told are charged; refused when that has changed since.</summary>
internal sealed record CancelFollowingRequest([property: JsonRequired] CancelReason Reason, [property: Between(0, WeeklyRequest.Most)] int? Charged = null);

/// <summary>Cancels a weekly lesson and those that follow it; each is charged or not by itself.</summary>
internal sealed class CancelFollowing(FollowingLessons following, CancelLesson cancelLesson, TellCharge tell, SchoolDb db)
{
    /// <summary>What each of them would come to if all were cancelled now.</summary>
    public async Task<Outcome<List<ChargeTold>>> PreviewAsync(Viewer viewer, Guid id, CancelReason reason, CancellationToken cancel)
    {
        var found = await following.FindAsync(id, viewer, cancel);
        if (!found.Ok)
        {
            return found.Refusal;
        }

        var previews = new List<ChargeTold>();
        foreach (var lesson in found.Value)
        {
            var preview = await tell.RunAsync(viewer, lesson.Id, new(ChargeAct.Cancel, reason), cancel);
            if (!preview.Ok)
            {
                return preview.Refusal;
            }

            previews.Add(preview.Value);
        }

        return previews;
    }

    /// <summary>In the transaction and under the locks of the proposal; each still comes to what its line told, or nothing is done.</summary>
    public async Task<Refusal?> CarryOutAsync(
        Viewer viewer, CancelFollowingRequest request, IReadOnlyList<ProposalLine> lines, ChangesMade made, CancellationToken cancel)
    {
        var told = lines.ToDictionary(line => line.Id, line => line.Charge?.Code);
        var lessons = await db.Set<Lesson>().Where(l => told.Keys.Contains(l.Id)).OrderBy(l => l.StartsAt).ToListAsync(cancel);
        foreach (var lesson in lessons)
        {
            if (await cancelLesson.ApplyAsync(viewer, lesson, new(request.Reason, told[lesson.Id]), cancel) is { } refusal)
            {
                return refusal;
            }

            made.Cancelled(lesson);
        }

        return null;
    }
}
