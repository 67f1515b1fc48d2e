using NodaTime;
using School.Core.Travel;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Api.Document;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;
using School.Web.Platform.Forms;

namespace School.Web.Modules.Travel;

/// <summary>A drive as the API sends it. Of the places only the position matters; a label helps to know them again.</summary>
internal sealed record LegRequest(
    [property: Needed] PlaceInput? From, [property: Needed] PlaceInput? To, [property: Needed] Instant? Left, [property: Needed] Instant? Arrived);

/// <summary>Keeps a drive that is over.</summary>
internal sealed class RecordLeg(SchoolDb db, InstructorBook instructors, IClock clock)
{
    public Task<Outcome<RecordedDrive>> RunAsync(Viewer viewer, Guid instructorId, LegRequest request, CancellationToken cancel) =>
        db.InTransactionAsync<RecordedDrive>(
            async cancel =>
            {
                if (!viewer.MayRecordFor(instructorId) || await instructors.FindAsync(instructorId, cancel) is null)
                {
                    return Refusal.NotFound("instructor");
                }

                var errors = new FieldErrors();
                var from = ReadEnd(errors, nameof(request.From), request.From);
                var to = ReadEnd(errors, nameof(request.To), request.To);
                errors.When(request.Left is null, nameof(request.Left), "Say when the drive began.")
                    .When(request.Arrived is null, nameof(request.Arrived), "Say when the drive ended.");
                if (request is { Left: { } left, Arrived: { } arrived })
                {
                    CheckTimes(errors, left, arrived);
                    errors.When(!errors.Any && from.At == to.At, nameof(request.To), "A drive leads to another place than the one where it began.");
                    if (!errors.Any)
                    {
                        var drive = new RecordedDrive
                        {
                            InstructorId = instructorId,
                            FromLabel = from.Label,
                            FromLatitude = from.At.Latitude,
                            FromLongitude = from.At.Longitude,
                            ToLabel = to.Label,
                            ToLatitude = to.At.Latitude,
                            ToLongitude = to.At.Longitude,
                            LeftAt = left,
                            ArrivedAt = arrived,
                        };
                        db.Add(drive);
                        return drive;
                    }
                }

                return errors.ToRefusal()!;
            },
            cancel);

    private void CheckTimes(FieldErrors errors, Instant left, Instant arrived)
    {
        var now = clock.GetCurrentInstant();
        errors.When(arrived <= left, nameof(LegRequest.Arrived), "The drive ends after it begins.")
            .When(arrived - left > Duration.FromMinutes(RecordedDrive.LongestMinutes), nameof(LegRequest.Arrived), "A drive between two lessons takes at most four hours. Was a tap forgotten?")
            .When(arrived > now, nameof(LegRequest.Arrived), "Record a drive once it is over.")
            .When(left < now - RecordedDrive.Kept, nameof(LegRequest.Left), "This drive is too old to be of use.");
    }

    private static (string Label, Coordinates At) ReadEnd(FieldErrors errors, string field, PlaceInput? input)
    {
        if (input is null)
        {
            errors.Add(field, "Say where: latitude and longitude.");
            return default;
        }

        var label = errors.ReadLine($"{field}.Label", input.Label, Place.LongestLabel);
        if (input.Position is { Length: > 0 } position)
        {
            if (CoordinatesText.TryParse(position, out var latitude, out var longitude, out var problem))
            {
                return (label, new(latitude, longitude));
            }

            errors.Add($"{field}.Position", problem);
            return default;
        }

        if (Coordinates.TryCreate(input.Latitude ?? double.NaN, input.Longitude ?? double.NaN, out var at))
        {
            return (label, at);
        }

        errors.Add(field, "Give a latitude from -90 to 90 and a longitude from -180 to 180.");
        return default;
    }
}
