using School.Web.Modules.Pupils.Contracts;
using School.Web.Platform.Access;

namespace School.Web.Modules.Accounts;

internal sealed class PupilMoney(BookShelf shelf, Ledger ledger) : IPupilMoney
{
    public async Task<PupilMoneyCard?> FindAsync(Guid pupilId, Viewer viewer, CancellationToken cancel)
    {
        if (!viewer.May(Permission.TakeMoney) || !await shelf.AreOpenAsync(cancel))
        {
            return null;
        }

        var blocks = await ledger.BlocksAsync(pupilId, cancel);
        return new($"/accounts/{pupilId}", await ledger.OwedAsync(pupilId, cancel), blocks.Sum(block => block.Left.MinutesLeft));
    }
}
