"""The multi-access key: any trait in any order, an unknown one says nothing."""
