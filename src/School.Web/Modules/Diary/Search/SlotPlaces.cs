using School.Web.Modules.Places.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary.Search;

/// <summary>Where a searched lesson is to begin or end: a position, a postcode, or a place of a list.</summary>
internal sealed class SlotPlaces(PlaceFinder places, Viewer viewer)
{
    /// <param name="end">What the names in the query begin with: "pickUp" or "dropOff".</param>
    /// <param name="pupilId">Whose own places may be named.</param>
    /// <param name="sent">What was sent.</param>
    /// <param name="errors">Takes what is wrong.</param>
    /// <param name="cancel">When the caller has gone.</param>
    /// <returns>Null where nothing was sent, or something was wrong.</returns>
    public async Task<Place?> ReadAsync(string end, Guid pupilId, PlaceInput sent, FieldErrors errors, CancellationToken cancel)
    {
        if (sent is { Postcode: null, PlaceId: null })
        {
            return errors.ReadPosition(end, sent.Latitude, sent.Longitude);
        }

        var field = sent.PlaceId is null ? $"{end}Postcode" : $"{end}PlaceId";
        if (sent.HasPosition || (sent.Postcode is not null && sent.PlaceId is not null))
        {
            errors.Add(field, $"Send one of {end}PlaceId, {end}Postcode, or {end}Latitude with {end}Longitude.");
            return null;
        }

        var typed = default(Core.Travel.Postcode);
        if (sent.PlaceId is null && !Core.Travel.Postcode.TryParse(sent.Postcode, out typed, out var problem))
        {
            errors.Add(field, problem.Sentence);
            return null;
        }

        var found = (await places.LookAsync(sent, pupilId, viewer, cancel))!.Found!;
        errors.When(found.Place is null, field, found.WhyNot ?? PlaceFound.Gone.WhyNot!);
        // Its area goes by the postcode.
        return found.Place is { } place && typed is not null ? place with { Postcode = typed.ToString() } : found.Place;
    }
}
