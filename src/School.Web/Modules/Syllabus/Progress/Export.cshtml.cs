using System.Text;
using System.Text.Json;
using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using Microsoft.Extensions.Options;
using NodaTime.Text;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Api;

namespace School.Web.Modules.Syllabus.Progress;

/// <summary>A pupil's record to take along: a table for spreadsheets, or JSON as the API gives it.</summary>
[Needs(Permission.SeeLearning)]
[OfPupil("pupilId", Sight.ByReason)]
internal sealed class ExportModel(ProgressReader reader, IOptions<Microsoft.AspNetCore.Http.Json.JsonOptions> json) : PageModel
{
    public async Task<IActionResult> OnGetAsync(Guid pupilId, string format, CancellationToken cancel)
    {
        if (format is not ("csv" or "json") || await reader.FindAsync(pupilId, withWriters: true, cancel) is not { } progress)
        {
            return NotFound();
        }

        var name = $"progress-{LocalDatePattern.Iso.Format(progress.Today)}.{format}";
        // Without the mark, spreadsheets take the file for the letters of one country.
        return format == "csv"
            ? File([.. Encoding.UTF8.GetPreamble(), .. Encoding.UTF8.GetBytes(ProgressCsv.Of(progress))], $"{Csv.ContentType}; charset=utf-8", name)
            : File(JsonSerializer.SerializeToUtf8Bytes(ProgressJson.Of(progress), json.Value.SerializerOptions), "application/json", name);
    }
}
