using Microsoft.EntityFrameworkCore;
using School.Core.Diary;
using School.Web.Platform.Database;

namespace School.Web.Modules.Diary;

internal sealed class DiaryDefaults : IModuleDefaults
{
    public async Task AddMissingAsync(SchoolDb db, CancellationToken cancel)
    {
        if (!await db.Set<DiarySettings>().AnyAsync(cancel))
        {
            db.Add(DiarySettings.From(new DiaryRules()));
        }
    }
}
