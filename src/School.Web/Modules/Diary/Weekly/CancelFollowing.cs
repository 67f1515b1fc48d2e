using System.Text.Json.Serialization;
using School.Core.Diary.Charges;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Diary.Mail;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary.Weekly;

/// <summary>Why, and how many of them the person was told are charged; refused when that has changed since.</summary>
internal sealed record CancelFollowingRequest([property: JsonRequired] CancelReason Reason, int? Charged = null);

/// <summary>Cancels a weekly lesson and all that follow it; each is charged or not by itself.</summary>
internal sealed class CancelFollowing(FollowingLessons following, CancelLesson cancelLesson, TellCharge tell, WeeklyMail mail, SchoolDb db)
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

    public async Task<Outcome<WeeklyLessons>> RunAsync(Viewer viewer, Guid id, CancelFollowingRequest request, CancellationToken cancel)
    {
        var preview = await PreviewAsync(viewer, id, request.Reason, cancel);
        if (!preview.Ok)
        {
            return preview.Refusal;
        }

        var lessons = preview.Value.ConvertAll(p => p.Lesson);
        return await db.InTransactionAsync<WeeklyLessons>(
            async cancel =>
            {
                var locked = await following.LockAsync(lessons, [], cancel);
                if (!locked.Ok)
                {
                    return locked.Refusal;
                }

                foreach (var lesson in locked.Value)
                {
                    if (await cancelLesson.ApplyAsync(viewer, lesson, new(request.Reason), cancel) is { } refusal)
                    {
                        return refusal;
                    }
                }

                if (request.Charged is { } told && told != locked.Value.Count(l => l.Chargeable == true))
                {
                    return Refusal.Rule("charge_changed", "Which of these lessons are charged has changed since you looked, so nothing was done. Look again before you cancel.");
                }

                await mail.CancelledAsync(locked.Value, viewer, cancel);
                return new WeeklyLessons(locked.Value[0].SeriesId!.Value, locked.Value);
            },
            cancel);
    }
}
